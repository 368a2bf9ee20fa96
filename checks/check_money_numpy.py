"""Investment formulas against numpy-financial.

Streams of money drawn with a fixed seed, and the examples of numpy-financial's own
reference, go through `linewright formula`: net present value, the one rate of return
of streams that change sign once, annuities and the level yearly cost. Streams with
several rates of return are built from rates that are known.
"""

import json
import subprocess
import sys

import numpy
import numpy_financial

from asking import Tally, binary

STREAMS = 40
SEED = 7


def formula(name, **symbols):
    pairs = [f"{symbol}={value}" for symbol, value in symbols.items()]
    command = [binary(), "formula", name, "--json", "--", *pairs]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    if done.returncode != 0:
        sys.exit(f"{name}: {done.stderr}")
    working = json.loads(done.stdout)
    return {term["symbol"]: term["value"] for term in working["results"]}


class Close(Tally):
    """A tally of figures that have to agree."""

    def agree(self, what, found, wanted, slack):
        wanted = float(wanted)
        near = abs(found - wanted) <= slack * max(1.0, abs(wanted))
        self.line(near, f"{what}: {found!r} against {wanted!r}")


def listed(flows):
    return ";".join(repr(float(flow)) for flow in flows)


def streams():
    """Money out first, in afterwards."""
    draw = numpy.random.default_rng(SEED)
    for _ in range(STREAMS):
        years = int(draw.integers(2, 15))
        out = -draw.uniform(1e4, 1e6)
        yield [out, *draw.uniform(0.0, 4e5, years)]
    yield [-100, 39, 59, 55, 20]
    yield [-40000, 5000, 8000, 12000, 30000]


def with_rates(rates):
    """A stream that is worth nothing at these rates: the product of (1 + r - (1 + rate))."""
    flows = numpy.array([1.0])
    for rate in rates:
        flows = numpy.convolve(flows, [1.0, -(1.0 + rate)])
    return flows * -1e5


def main():
    tally = Close()
    draw = numpy.random.default_rng(SEED + 1)
    for number, flows in enumerate(streams()):
        rate = float(draw.uniform(0.0, 0.3))
        worth = formula("npv", rate=rate, flows=listed(flows))["npv"]
        tally.agree(f"value of stream {number}", worth, numpy_financial.npv(rate, flows), 1e-9)
        rates = formula("irr", flows=listed(flows))["rates"]
        tally.agree(f"rates of stream {number}", len(rates), 1, 0.0)
        tally.agree(f"return of stream {number}", rates[0], numpy_financial.irr(flows), 1e-7)
        level = formula("equivalent-annual-cost", rate=rate, flows=listed(flows))["cost"]
        wanted = -numpy_financial.pmt(rate, len(flows) - 1, -numpy_financial.npv(rate, flows))
        tally.agree(f"level cost of stream {number}", level, wanted, 1e-9)
    for rates in ([0.1, 0.2], [-0.2, 0.05, 0.6], [0.0, 0.4], [0.02, 0.3, 0.9, 1.5]):
        found = formula("irr", flows=listed(with_rates(rates)))["rates"]
        tally.agree(f"number of rates {rates}", len(found), len(rates), 0.0)
        for a, b in zip(found, rates):
            tally.agree(f"one of the rates {rates}", a, b, 1e-6)
    for principal, rate, periods in ((200000, 0.075 / 12, 180), (1e6, 0.1, 8), (5e4, 0.0, 10)):
        paid = formula("annuity", principal=principal, rate=rate, periods=periods)["payment"]
        wanted = -numpy_financial.pmt(rate, periods, principal)
        tally.agree(f"annuity of {principal}", paid, wanted, 1e-9)
    return tally.close()


if __name__ == "__main__":
    sys.exit(main())
