"""Small plants, simulated by the engine and independently in SimPy.

A merge of two feeders with stops, a rework loop with inspection and repair, and
a closed fleet of carts: one question each, answered by `linewright solve flow`
and by `peer.py` beside this file. Rate, time in plant, jobs in plant and the state
shares of every station must agree within the interval of their difference.

The interval is Welch's for two independent means, at a level that holds for all
figures of a plant together in 99 of 100 plants (Bonferroni's bound): with some
twenty figures, one at 99 % each would cry wolf at every fifth plant. What it
can still tell apart is checked, too: one place more in the merge is.
"""

import sys
import time

import numpy
from scipy import stats

from asking import Tally, solve_flow
from peer import Plant, Unit

DAY = 86_400.0
SEED = 20_240_607
LEVEL = 0.99
# What the engine simulates costs next to nothing beside SimPy, so it takes so many
# that the interval is nearly SimPy's own.
PEER_REPLICATIONS = 32
ENGINE_REPLICATIONS = 600
DAYS = 4
# A quantile is read from buckets of 1/256 of its value: half of one to each side.
BUCKET = 1.0 / 512.0


def stop(between, repair, basis="running"):
    return {"basis": basis, "between": between, "repair": repair}


# A quarter of a day fills these plants many times over. Their stops are short and
# many, so that a few days hold enough of them for a narrow interval.
RUN = {"warm_up_s": DAY / 4, "length_s": DAYS * DAY, "replications": ENGINE_REPLICATIONS,
       "seed": SEED, "start": "empty"}


def merge():
    """Two feeders, one with a slow way to the merge; the merge feeds a line."""
    return {
        "stations": [
            {"name": "side", "cycle": {"exponential": 50},
             "stops": [stop({"exponential": 900}, {"exponential": 105})]},
            {"name": "floor", "cycle": {"lognormal": [48, 0.5]},
             "stops": [stop({"weibull": [1.5, 1250]}, {"erlang": [2, 75]}),
                       stop({"exponential": 2250}, {"fixed": 45}, "clock")]},
            {"name": "join", "takes": "one_of_each", "cycle": {"triangular": [30, 45, 75]},
             "stops": [stop({"exponential": 1800}, {"lognormal": [100, 0.8]})]},
            {"name": "finish", "cycle": {"uniform": [35, 65]}}],
        "links": [
            {"from": "side", "to": "join", "holds": 3},
            {"from": "floor", "to": "join", "holds": 2, "move_s": 30},
            {"from": "join", "to": "finish", "holds": 0}],
        "run": RUN}


def merge_as_they_come():
    """The same with a place for each kind at the merge, filled as they come."""
    question = merge()
    question["stations"][2]["loads"] = "as_they_come"
    question["links"][0]["holds"] = 0
    return question


def rework():
    """Cars arrive, two lanes of work, inspection, repair and back again."""
    return {
        "stations": [
            {"name": "prepare", "cycle": {"empirical": [40, 50, 55, 60, 75]},
             "stops": [stop({"exponential": 2000}, {"exponential": 100})]},
            {"name": "lane one", "cycle": {"erlang": [4, 110]}},
            {"name": "lane two", "cycle": {"exponential": 130}},
            {"name": "inspect", "cycle": {"uniform": [40, 70]}, "first_time_ok": 0.82,
             "rework_to": "repair"},
            {"name": "repair", "units": 2, "cycle": {"lognormal": [420, 0.7]}, "scrap": 0.06,
             "stops": [stop({"exponential": 5000}, {"exponential": 450})]},
            {"name": "pack", "cycle": {"fixed": 60}}],
        "links": [
            {"from": "prepare", "to": "lane one", "holds": 4, "share": 0.6},
            {"from": "prepare", "to": "lane two", "holds": 3, "share": 0.4},
            {"from": "lane one", "to": "inspect", "holds": 2},
            {"from": "lane two", "to": "inspect", "holds": 2},
            {"from": "inspect", "to": "repair", "holds": 4},
            # Without limit, so that the loop cannot lock itself.
            {"from": "repair", "to": "inspect", "holds": None},
            {"from": "inspect", "to": "pack", "holds": 3, "move_s": 20}],
        "arrivals": [{"station": "prepare", "between": {"erlang": [4, 90]}}],
        "run": RUN}


def fleet():
    """Nine carts go from loading to unloading and come back empty."""
    return {
        "stations": [
            {"name": "load", "cycle": {"triangular": [40, 50, 80]}},
            {"name": "weld", "cycle": {"erlang": [3, 55]},
             "stops": [stop({"exponential": 1350}, {"exponential": 100}, "clock")]},
            {"name": "cure", "units": 2, "cycle": {"uniform": [80, 130]},
             "stops": [stop({"exponential": 2000}, {"weibull": [2, 90]})]},
            {"name": "unload", "cycle": {"exponential": 48}}],
        "links": [
            {"from": "load", "to": "weld", "holds": 2},
            {"from": "weld", "to": "cure", "holds": 1, "move_s": 15},
            {"from": "cure", "to": "unload", "holds": None}],
        "fleets": [{"name": "carts", "count": 9, "taken_at": "load", "returned_at": "unload",
                    "return_s": 150}],
        "run": RUN}


def peer_figures(question):
    """For every figure its values over the replications."""
    replications = [Plant(question, SEED + r).run() for r in range(PEER_REPLICATIONS)]
    return {name: numpy.array([r[name] for r in replications]) for name in replications[0]}


def engine_figures(answer):
    """For every figure its mean and the standard error of that; none if not given."""
    n = answer["run"]["replications"]
    assert n == ENGINE_REPLICATIONS, answer["run"]
    half_widths = stats.t.ppf(0.975, n - 1)
    estimate = lambda e: (e["mean"], e["half_width_95"] / half_widths)
    times = answer["time_in_plant_s"]
    figures = {
        "rate_per_h": estimate(answer["rate_per_h"]),
        "jobs_in_plant": estimate(answer["jobs_in_plant"]),
        "time_in_plant_s": estimate(times),
        **{p: (times[p], None) for p in ("p10", "p50", "p90")},
    }
    for station in answer["stations"]:
        for state in Unit.STATES:
            figures[f"{station['name']}: {state}"] = estimate(station[state])
    return figures


def differences(ours, theirs):
    """Each figure with both means, the interval on their difference, and whether
    it holds 0."""
    # A station without stops is never stopped (but for a nanosecond of rounding):
    # nothing to compare.
    theirs = {name: values for name, values in theirs.items()
              if values.any() or ours[name][0] > 1e-9}
    level = 1.0 - (1.0 - LEVEL) / len(theirs)
    for name, values in theirs.items():
        mean, error = ours[name]
        n = len(values)
        own = values.var(ddof=1) / n
        slack = 0.0
        if error is None:
            # Replications of the same plant and length spread alike.
            other = values.var(ddof=1) / ENGINE_REPLICATIONS
            slack = BUCKET * mean
        else:
            other = error**2
        spread = own + other
        if spread > 0.0:
            degrees = spread**2 / (own**2 / (n - 1) + other**2 / (ENGINE_REPLICATIONS - 1))
            slack += stats.t.ppf(0.5 + level / 2, degrees) * spread**0.5
        difference = mean - values.mean()
        yield name, mean, values.mean(), difference, slack, abs(difference) <= slack


def compare(tally, title, question):
    start = time.process_time()
    theirs = peer_figures(question)
    peer_s = time.process_time() - start
    answer = solve_flow(question)
    print(f"\n{title}: {PEER_REPLICATIONS} replications in SimPy ({peer_s:.1f} s), "
          f"{ENGINE_REPLICATIONS} in the engine ({answer['wall_s']:.2f} s), "
          f"{DAYS} days each after {RUN['warm_up_s'] / 3600:.0f} h of warm-up")
    print(f"{'':<7}{'':<20}{'engine':>12}{'SimPy':>12}{'difference':>12}{'allowed':>12}")
    for name, ours, peers, difference, slack, holds in differences(engine_figures(answer), theirs):
        tally.line(holds, f"{name:<20}{ours:>12.4f}{peers:>12.4f}{difference:>12.4f}{slack:>12.4f}")
    for station in answer["stations"]:
        total = sum(station[state]["mean"] for state in Unit.STATES)
        if abs(total - 1.0) > 1e-9:
            tally.line(False, f"{station['name']}: state shares add to {total}, not 1")
    return theirs


def main():
    tally = Tally()
    theirs = compare(tally, "merge", merge())
    compare(tally, "merge, places filled as parts come", merge_as_they_come())
    compare(tally, "rework loop", rework())
    compare(tally, "closed fleet", fleet())

    wider = merge()
    wider["links"][0]["holds"] += 1
    ours = engine_figures(solve_flow(wider))
    told = [name for name, *_, holds in differences(ours, theirs) if not holds]
    print()
    tally.line(len(told) > 0, f"one place more before the merge is told apart, by {len(told)} figures")
    return tally.close()


if __name__ == "__main__":
    sys.exit(main())
