"""The repeatable line, job for job, and the statistics of its answer.

A recursion in plain Python gives every departure of a short line by the published
definition (splitmix64 streams, stops by running time, blocking after service).
From those departures NumPy and SciPy compute what the answer of `linewright solve
flow` states: jobs out of every replication, mean and 95 % interval (Student's t),
time in plant with its quantiles, jobs in plant, and shares of the stations' states.
"""

import math
import sys

import numpy
from scipy import stats

from asking import Tally, solve_flow

STATIONS = 12
PLACES = 2
DAYS = 3
REPLICATIONS = 8
SEED = 5
MASK = (1 << 64) - 1
# A quantile is read from buckets of 1/256 of its value: half of one to each side.
BUCKET = 1.0 / 512.0
# The engine's clock counts nanoseconds, the recursion here does not.
ROUNDING = 1e-9


class Stream:
    """splitmix64 (Steele, Lea & Flood 2014), as the definition lays it down."""

    def __init__(self, state):
        self.state = state & MASK

    def bits(self):
        self.state = (self.state + 0x9E3779B97F4A7C15) & MASK
        z = self.state
        z = ((z ^ (z >> 30)) * 0xBF58476D1CE4E5B9) & MASK
        z = ((z ^ (z >> 27)) * 0x94D049BB133111EB) & MASK
        return z ^ (z >> 31)

    def uniform(self):
        return ((self.bits() >> 11) + 0.5) * 2.0**-53


def cycles(stations):
    jitter = Stream(1)
    return [60.0 * (1.0 + 0.02 * (2.0 * jitter.uniform() - 1.0)) for _ in range(stations)]


class Stops:
    """How long a station holds each job: its cycle and the repairs within."""

    def __init__(self, seed, station, cycle):
        start = Stream(seed + (station + 1) * 0xD1B54A32D192ED03)
        self.stream = Stream(start.bits())
        self.cycle = cycle
        self.left = self.to_next()

    def to_next(self):
        return -14400.0 * math.log(self.stream.uniform())

    def repair(self):
        return -300.0 * math.log(self.stream.uniform())

    def next_job(self):
        held = self.cycle
        self.left -= self.cycle
        while self.left < 0:
            held += self.repair()
            self.left += self.to_next()
        return held


def departures(seed, end):
    """Start, finish and departure of every job at every station, jobs by stations."""
    line = [Stops(seed, i, cycle) for i, cycle in enumerate(cycles(STATIONS))]
    rows = []
    while not rows or rows[-1][0][2] <= end:
        above = 0.0
        row = []
        for i, station in enumerate(line):
            free = rows[-1][i][2] if rows else 0.0
            start = max(above, free)
            finish = start + station.next_job()
            leave = finish
            if i + 1 < STATIONS and len(rows) > PLACES:
                # The job that has to make room: places and the one in work below.
                leave = max(leave, rows[-1 - PLACES][i + 1][2])
            row.append((start, finish, leave))
            above = leave
        rows.append(row)
    return numpy.array(rows)


def figures(rows, end):
    """What the answer states, from the departures of one replication."""
    out = rows[:, -1, 2] <= end
    born, gone = rows[:, 0, 0], rows[:, -1, 2]
    stay = numpy.clip(gone, 0, end) - numpy.clip(born, 0, end)
    free = numpy.vstack([numpy.zeros(STATIONS), rows[:-1, :, 2]])
    spell = lambda a, b: (numpy.clip(b, 0, end) - numpy.clip(a, 0, end)).sum(axis=0) / end
    return {
        "jobs out": int(out.sum()),
        "times": (gone - born)[out],
        "jobs in plant": stay.sum() / end,
        "starved": spell(free, rows[:, :, 0]),
        "busy": spell(rows[:, :, 0], rows[:, :, 1]),
        "blocked": spell(rows[:, :, 1], rows[:, :, 2]),
    }


def question(replications):
    stop = {"basis": "running", "between": {"exponential": 14400}, "repair": {"exponential": 300}}
    names = [f"station {i + 1}" for i in range(STATIONS)]
    return {
        "stations": [{"name": name, "cycle": {"fixed": 60}, "stops": [stop]} for name in names],
        "links": [{"from": a, "to": b, "holds": PLACES} for a, b in zip(names, names[1:])],
        "run": {"repeatable": {"splitmix": True}, "length_s": DAYS * 86400.0, "seed": SEED,
                "replications": replications}}


def main():
    tally = Tally()
    end = DAYS * 86400.0
    known = [figures(departures(SEED + r, end), end) for r in range(REPLICATIONS)]

    def same(what, found, expected, allowed):
        tally.line(abs(found - expected) <= allowed,
                   f"{what:<44}{found:>18.9f}{expected:>18.9f}{allowed:>12.1e}")

    def interval(what, found, values):
        values = numpy.asarray(values, dtype=float)
        error = values.std(ddof=1) / math.sqrt(len(values))
        same(f"{what}, mean", found["mean"], values.mean(), ROUNDING * abs(values.mean()))
        same(f"{what}, half of the 95 % interval", found["half_width_95"],
             stats.t.ppf(0.975, len(values) - 1) * error, ROUNDING * abs(values.mean()))

    print(f"{STATIONS} stations, {PLACES} places, {DAYS} days, {REPLICATIONS} replications from seed {SEED}")
    print(f"{'':<7}{'':<44}{'linewright':>18}{'here':>18}{'allowed':>12}")
    answer = solve_flow(question(REPLICATIONS))
    for r, (found, expected) in enumerate(zip(answer["jobs_out"], known, strict=True)):
        same(f"jobs out, replication {r + 1}", found, expected["jobs out"], 0)
    interval("rate an hour", answer["rate_per_h"], [k["jobs out"] / (end / 3600) for k in known])
    interval("jobs in plant", answer["jobs_in_plant"], [k["jobs in plant"] for k in known])
    interval("time in plant", answer["time_in_plant_s"], [k["times"].mean() for k in known])
    for i in (0, STATIONS // 2, STATIONS - 1):
        name = answer["stations"][i]["name"]
        for state in ("starved", "blocked"):
            if any(k[state][i] for k in known):
                interval(f"{name} {state}", answer["stations"][i][state], [k[state][i] for k in known])
        busy = answer["stations"][i]["working"]["mean"] + answer["stations"][i]["stopped"]["mean"]
        expected = numpy.mean([k["busy"][i] for k in known])
        same(f"{name} working or stopped, mean", busy, expected, ROUNDING)

    single = solve_flow(question(1))["time_in_plant_s"]
    for name, share in (("p10", 0.1), ("p50", 0.5), ("p90", 0.9)):
        exact = numpy.quantile(known[0]["times"], share, method="inverted_cdf")
        same(f"time in plant, {name}, one replication", single[name], exact, BUCKET * exact)
    return tally.close()


if __name__ == "__main__":
    sys.exit(main())
