"""Lots on one line by general means: SciPy, and what an engineer's script would do.

Shares nothing with the solver: lengths of a fixed sequence come from SLSQP on the
convex programme, the bound from bisection on the price of line time, sequences
from powers of two spread over the cycle (Dobson 1987), a lot replayed by adding up
what is made and used.
"""

import math
import random

import numpy
from scipy import optimize

# The ten stampings of Bomberger, Management Science 12 (1966) 778-784: used and made
# a day, days and dollars of a changeover, dollars that a piece costs (a tenth of
# that a year of 240 days to keep it).
STAMPINGS = [
    (400, 30000, 0.125, 15, 0.0065), (400, 8000, 0.125, 20, 0.1775),
    (800, 9500, 0.25, 30, 0.1275), (1600, 7500, 0.125, 10, 0.1),
    (80, 2000, 0.5, 110, 2.785), (80, 6000, 0.25, 50, 0.2675),
    (24, 2400, 1.0, 310, 1.5), (340, 1300, 0.5, 130, 5.9),
    (340, 2000, 0.75, 200, 0.9), (400, 15000, 0.125, 5, 0.04),
]


class Line:
    """Items of one line as columns."""

    def __init__(self, used, made, days, cost, keep):
        self.used, self.made = numpy.array(used, float), numpy.array(made, float)
        self.days, self.cost = numpy.array(days, float), numpy.array(cost, float)
        self.load = self.used / self.made
        self.carry = numpy.array(keep, float) * self.used * (1 - self.load) / 2
        self.keep = numpy.array(keep, float)

    @staticmethod
    def stampings(scale):
        used, made, days, cost, price = zip(*STAMPINGS)
        keep = [p * 0.10 / 240 for p in price]
        return Line([u * scale for u in used], made, days, cost, keep)

    def question(self):
        items = [
            {"name": f"item {n + 1}", "rate_per_day": self.used[n], "make_per_day": self.made[n],
             "changeover_days": self.days[n], "changeover_cost": self.cost[n],
             "hold_cost_per_day": self.keep[n], "lines": ["P1"]}
            for n in range(len(self.used))]
        return {"items": items, "lines": [{"name": "P1"}]}

    def rotation(self):
        """Days and cost of the rotation cycle, by minimising over the cycle."""
        least = self.days.sum() / (1 - self.load.sum())
        cost = lambda days: self.cost.sum() / days + self.carry.sum() * days
        found = optimize.minimize_scalar(cost, bounds=(least, 1000 * least + 1000),
                                         method="bounded", options={"xatol": 1e-10})
        days = max(found.x, least) if cost(found.x) < cost(least) else least
        return days, cost(days)

    def gaps(self, price):
        return numpy.sqrt((self.cost + price * self.days) / self.carry)

    def bound(self):
        """The independent solution's cost, and its gaps."""
        over = lambda price: (self.load + self.days / self.gaps(price)).sum() - 1
        price = 0.0 if over(0.0) <= 0 else optimize.brentq(over, 0.0, 1e7, xtol=1e-14)
        gaps = self.gaps(price)
        return (self.cost / gaps + self.carry * gaps).sum(), gaps

    def lengths(self, sequence):
        """The best cost of a sequence, by SLSQP; none where that fails."""
        n = len(sequence)
        item = numpy.array(sequence)
        following = [next(k for k in range(1, n + 1) if item[(at + k) % n] == item[at])
                     for at in range(n)]
        # Unknowns are the slots between starts; a gap is a sum of slots.
        spans = numpy.zeros((n, n))
        for at in range(n):
            for k in range(following[at]):
                spans[at, (at + k) % n] += 1
        carry, load = self.carry[item], self.load[item]
        fixed = self.cost[item].sum()
        rows = numpy.eye(n) - load[:, None] * spans
        days = self.days[numpy.roll(item, -1)]

        def cost(slots):
            gap = spans @ slots
            return (fixed + (carry * gap * gap).sum()) / slots.sum()

        def slope(slots):
            gap, cycle = spans @ slots, slots.sum()
            return (2 * spans.T @ (carry * gap) - cost(slots)) / cycle

        start = numpy.linalg.solve(rows, days + 0.5)
        found = optimize.minimize(
            cost, start, jac=slope, method="SLSQP", options={"maxiter": 300, "ftol": 1e-12},
            constraints={"type": "ineq", "fun": lambda x: rows @ x - days, "jac": lambda _: rows})
        holds = (rows @ found.x - days).min() > -1e-7
        return found.fun if holds else None

    def drawn(self, draw):
        """A sequence with powers of two as frequencies, spread over the cycle."""
        _, gaps = self.bound()
        cycle = gaps.max() * 2 ** draw.uniform(-0.6, 1.0)
        placed = []
        for n, gap in enumerate(gaps):
            count = max(1, 2 ** math.floor(math.log2(cycle / gap) + 0.5))
            offset = draw.random()
            placed += [((offset + k) / count, n) for k in range(count)]
        sequence = [n for _, n in sorted(placed)]
        kept = [n for at, n in enumerate(sequence) if n != sequence[at - 1]]
        return kept if len(set(kept)) == len(gaps) else sequence

    def search(self, tries, seed):
        """The best of so many drawn sequences."""
        draw = random.Random(seed)
        costs = (self.lengths(self.drawn(draw)) for _ in range(tries))
        return min((cost for cost in costs if cost is not None), default=math.inf)

    def replay(self, policy):
        """Cost of an answered timetable by adding up; none where it does not hold."""
        cycle = policy["cycle_days_by_line"]["P1"]
        table = policy["timetable"]["P1"]
        busy = 0.0
        for entry in table:
            if entry["start_day"] < busy - 1e-7:
                return None
            busy = entry["start_day"] + entry["changeover_days"] + entry["run_days"]
        if busy > cycle + 1e-7:
            return None
        cost = 0.0
        for n in range(len(self.used)):
            runs = [(e["start_day"] + e["changeover_days"], e["run_days"])
                    for e in table if e["item"] == f"item {n + 1}"]
            events = sorted([(at, self.made[n]) for at, _ in runs]
                            + [(at + run, -self.made[n]) for at, run in runs])
            # Twice round, so that the level at the start no longer matters.
            twice = events + [(at + cycle, by) for at, by in events]
            level, rate, last, levels = 0.0, -self.used[n], events[0][0], []
            for at, by in twice:
                level += rate * (at - last)
                levels.append((at, level))
                rate, last = rate + by, at
            least = min(level for _, level in levels[:len(events) + 1])
            if abs(levels[len(events)][1] - levels[0][1]) > 1e-5 * self.used[n] * cycle:
                return None
            area = sum((b[0] - a[0]) * ((a[1] + b[1]) / 2 - least)
                       for a, b in zip(levels[:len(events)], levels[1:len(events) + 1]))
            cost += (len(runs) * self.cost[n] + self.keep[n] * area) / cycle
        return cost
