"""Lots on one line: Linewright beside general means, in one run.

For the ten stampings of Bomberger (1966) at four loads: the rotation cycle by both;
the bound by both; the timetable that Linewright answers, replayed here; the lengths
of its sequence by SciPy's SLSQP; and the best of many sequences drawn and solved
with SciPy, with the time that takes.
"""

import json
import sys
import time

from asking import Tally, measured
from lots_peer import Line

SCALES = (1.0, 1.04, 1.08, 1.11)
# Sequences that the peer draws: about as long as Linewright searches.
TRIES = 60
SEED = 1


def main():
    tally = Tally()
    print(f"{'load':>6}{'bound':>10}{'rotation':>10}{'ours':>10}{'above':>8}{'wall s':>8}"
          f"{'cpu s':>8}{'MB':>6}{'peer':>10}{'above':>8}{'wall s':>8}")
    for scale in SCALES:
        line = Line.stampings(scale)
        text, wall, cpu, peak = measured(["solve", "lots", "-"], line.question())
        answer = json.loads(text)
        rotation, best = answer["policies"]
        bound, _ = line.bound()
        begun = time.perf_counter()
        drawn = line.search(TRIES, SEED)
        took = time.perf_counter() - begun
        cost = best["cost_per_day"]
        print(f"{line.load.sum():6.3f}{bound:10.4f}{rotation['cost_per_day']:10.4f}{cost:10.4f}"
              f"{100 * (cost / bound - 1):7.2f}%{wall:8.2f}{cpu:8.2f}{peak / 1e6:6.0f}"
              f"{drawn:10.4f}{100 * (drawn / bound - 1):7.2f}%{took:8.2f}")
        days, by_minimising = line.rotation()
        close = lambda a, b, share: b is not None and abs(a - b) <= share * abs(b)
        tally.line(close(rotation["cost_per_day"], by_minimising, 1e-7)
                   and close(rotation["cycle_days"], days, 1e-4), f"x {scale}: rotation cycle")
        tally.line(close(answer["lower_bound_per_day"], bound, 1e-9), f"x {scale}: bound")
        for policy in (rotation, best):
            tally.line(close(policy["cost_per_day"], line.replay(policy), 1e-6),
                       f"x {scale}: {policy['policy']} holds and costs what it says")
        sequence = [int(e["item"].split()[1]) - 1 for e in best["timetable"]["P1"]]
        again = line.lengths(sequence)
        tally.line(again is not None and cost <= again * (1 + 1e-6),
                   f"x {scale}: SLSQP finds no better lengths for its sequence ({again})")
        tally.line(cost <= drawn, f"x {scale}: no sequence drawn is better")
    return tally.close()


if __name__ == "__main__":
    sys.exit(main())
