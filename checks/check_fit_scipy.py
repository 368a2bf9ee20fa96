"""Fits of `linewright solve fit` against SciPy and the e-Handbook.

Maximum likelihood with right-censored times by `scipy.stats.CensoredData`, the
profile interval of the exponential mean by a root of its likelihood, Laplace's trend
test from its definition; the published Weibull case of the NIST/SEMATECH e-Handbook of
Statistical Methods, 8.4.1.3; and random samples from a fixed seed.
"""

import math
import sys

import numpy
from scipy import optimize, stats

from asking import Tally, solve

SEED = 20260302
# SciPy's optimiser stops here.
CLOSE = 2e-4


def scipy_fits(ended, cut):
    data = stats.CensoredData(uncensored=ended, right=cut)
    shape, _, scale = stats.weibull_min.fit(data, floc=0)
    sigma, _, median = stats.lognorm.fit(data, floc=0)
    mean = (sum(ended) + sum(cut)) / len(ended)

    def likelihood(dist):
        return dist.logpdf(ended).sum() + dist.logsf(cut).sum()

    return {
        "exponential": (1.0, mean, likelihood(stats.expon(scale=mean))),
        "weibull": (shape, scale, likelihood(stats.weibull_min(shape, scale=scale))),
        "lognormal": (sigma, median, likelihood(stats.lognorm(sigma, scale=median))),
    }


def exponential_interval(ended, cut, level=0.95):
    total, n = sum(ended) + sum(cut), len(ended)
    best = total / n
    drop = stats.chi2.ppf(level, 1) / 2
    less = lambda mean: -n * math.log(mean) - total / mean + n * math.log(best) + n + drop
    return optimize.brentq(less, best / 50, best), optimize.brentq(less, best, best * 500)


def check(tally, name, ended, cut):
    question = {"samples_s": list(ended) + list(cut),
                "censored": [False] * len(ended) + [True] * len(cut)}
    found = {f["family"]: f for f in solve("fit", question)["families"]}

    def same(what, value, expected, allowed=CLOSE):
        relative = abs(value / expected - 1.0)
        tally.line(relative <= allowed, f"{name + ', ' + what:<52}{value:>16.6f}{expected:>16.6f}")

    for family, (shape, scale, likelihood) in scipy_fits(ended, cut).items():
        here = found[family]
        same(f"{family} shape", here["shape"]["value"], shape)
        same(f"{family} scale", here["scale"]["value"], scale)
        tally.line(here["log_likelihood"] >= likelihood - 1e-6,
                   f"{name + ', ' + family + ' likelihood not below':<52}"
                   f"{here['log_likelihood']:>16.6f}{likelihood:>16.6f}")
    low, high = exponential_interval(ended, cut)
    same("exponential mean, lower", found["exponential"]["mean"]["low"], low, 1e-5)
    same("exponential mean, upper", found["exponential"]["mean"]["high"], high, 1e-5)
    return found


def main():
    tally = Tally()
    print(f"{'':<7}{'':<52}{'linewright':>16}{'here':>16}")
    nist = [54, 187, 216, 240, 244, 335, 361, 373, 375, 386]
    found = check(tally, "e-Handbook 8.4.1.3", nist, [500] * 10)
    for what, value, published, digits in (
            ("shape", found["weibull"]["shape"]["value"], 1.7208, 4),
            ("scale", found["weibull"]["scale"]["value"], 606.528, 3),
            ("AIC", found["weibull"]["aic"], 154.27, 2),
            ("lognormal AIC", found["lognormal"]["aic"], 154.39, 2)):
        tally.line(round(value, digits) == published, f"e-Handbook 8.4.1.3, published {what:<24}{value:>16.6f}{published:>16.4f}")
    bearings = [17.88, 28.92, 33.0, 41.52, 42.12, 45.6, 48.48, 51.84, 51.96, 54.12, 55.56, 67.8,
                68.64, 68.64, 68.88, 84.12, 93.12, 98.64, 105.12, 105.84, 127.92, 128.04, 173.4]
    check(tally, "ball bearings", bearings, [])

    luck = numpy.random.default_rng(SEED)
    for n in (12, 60, 400):
        times = luck.weibull(1.4, n) * 300.0
        limit = 450.0
        check(tally, f"{n} Weibull times cut at 450", times[times < limit], [limit] * int((times >= limit).sum()))
        times = luck.lognormal(2.0, 0.7, n)
        check(tally, f"{n} lognormal times", times, [])

    gaps = luck.exponential(100.0, 40)
    when = numpy.cumsum(gaps)
    total = when[-1] + 55.0
    question = {"samples_s": list(gaps) + [55.0], "censored": [False] * 40 + [True]}
    trend = solve("fit", question)["trend"]
    laplace = (when.sum() - 40 * total / 2) / (total * math.sqrt(40 / 12))
    handbook = 2 * numpy.log(total / when).sum()
    for what, value, expected in (
            ("Laplace", trend["laplace"], laplace),
            ("its p", trend["laplace_p"], 2 * stats.norm.sf(abs(laplace))),
            ("military handbook", trend["handbook"], handbook),
            ("its p", trend["handbook_p"], 2 * min(stats.chi2.cdf(handbook, 80), stats.chi2.sf(handbook, 80)))):
        tally.line(abs(value - expected) < 1e-6, f"{'trend, ' + what:<52}{value:>16.6f}{expected:>16.6f}")
    return tally.close()


if __name__ == "__main__":
    sys.exit(main())
