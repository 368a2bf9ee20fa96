"""How fast the engine is, beside SimPy, measured in one run on one machine.

Processor time, not wall time, wherever a machine shared with others would blur
it; the best and the median of several repeats. With `--check` the exit code says
whether the required figures hold; they are read off the best repeat, since other
work on a machine only ever slows a program down.

    python checks/bench_flow.py [--check]
"""

import argparse
import json
import os
import platform
import statistics
import sys
import time

import simpy

from asking import Tally, binary, measured
from check_line_scipy import Stops, cycles

STATIONS = 100
PLACES = 2
DAY = 86_400.0
# Jobs that every engine must count on the reference line with seed 1.
JOBS = {1: 1_048, 30: 34_067}

# What is required.
TIMES_SIMPY = 800.0
DEMO_MOVES_PER_S = 8e6
DEMO_RUN_S = 3.0
DEMO_PLAN_S = 0.1
# Peak memory may not follow the time simulated: ten times the time, a tenth more
# for what an allocator keeps.
MEMORY_GROWTH = 1.1


class Spread:
    """Best and median of repeats; for times, less is better."""

    def __init__(self, values):
        self.best = min(values)
        self.median = statistics.median(values)


def simpy_line(days):
    """Jobs out, station completions and processor time of the line in SimPy."""
    start = time.process_time()
    env = simpy.Environment()
    stores = [simpy.Store(env, PLACES) for _ in range(STATIONS - 1)]
    completions = [0] * STATIONS

    def station(i, stops):
        above = stores[i - 1] if i > 0 else None
        below = stores[i] if i + 1 < STATIONS else None
        while True:
            if above is not None:
                yield above.get()
            yield env.timeout(stops.next_job())
            completions[i] += 1
            if below is not None:
                yield below.put(None)

    for i, cycle in enumerate(cycles(STATIONS)):
        env.process(station(i, Stops(1, i, cycle)))
    env.run(until=days * DAY)
    return completions[-1], sum(completions), time.process_time() - start


def reference_line(days):
    stop = {"basis": "running", "between": {"exponential": 14400}, "repair": {"exponential": 300}}
    names = [f"station {i + 1}" for i in range(STATIONS)]
    return {
        "stations": [{"name": name, "cycle": {"fixed": 60}, "stops": [stop]} for name in names],
        "links": [{"from": a, "to": b, "holds": PLACES} for a, b in zip(names, names[1:])],
        "run": {"repeatable": {"splitmix": True}, "length_s": days * DAY, "seed": 1,
                "replications": 1}}


def engine_line(days, repeats):
    """Jobs out, moves, processor and wall times and peak memory of the engine."""
    cpu, wall, peak = [], [], []
    for _ in range(repeats):
        text, _, used, memory = measured(
            ["solve", "flow", "-", "--threads", "1"], reference_line(days))
        answer = json.loads(text)
        cpu.append(used)
        wall.append(answer["wall_s"])
        peak.append(memory)
    return answer["jobs_out"][0], answer["moves"], Spread(cpu), Spread(wall), max(peak)


def ask_demo(book, repeats, *arguments):
    """The demo plant's answer, wall and processor times, peak memory."""
    wall, cpu, peak = [], [], []
    for _ in range(repeats):
        # 1: the plant does not make its rate, which is an answer.
        text, took, used, memory = measured(
            [arguments[0], book, *arguments[1:], "--json"], allowed=(0, 1))
        wall.append(took)
        cpu.append(used)
        peak.append(memory)
    return json.loads(text), Spread(wall), Spread(cpu), max(peak)


def millions(number):
    return f"{number / 1e6:.1f} million"


def megabytes(memory):
    return f"{memory / 1e6:.0f} MB"


def seconds(spread):
    return f"{spread.best:.3f} s (median {spread.median:.3f})"


def compare_lines(tally):
    """The reference line in both; the rows of the table."""
    peers = []
    for _ in range(3):
        jobs, completions, cpu = simpy_line(1)
        peers.append(cpu / completions)
    tally.line(jobs == JOBS[1], f"SimPy counts {jobs} jobs on the reference line in a day, expected {JOBS[1]}")
    jobs, moves, cpu, wall, peak = engine_line(30, 9)
    tally.line(jobs == JOBS[30], f"the engine counts {jobs} jobs in 30 days, expected {JOBS[30]}")
    *_, peak_long = engine_line(300, 1)
    peer = Spread(peers)
    best = peer.best / (cpu.best / moves)
    median = peer.median / (cpu.median / moves)
    tally.line(best >= TIMES_SIMPY, f"reference line: {best:,.0f} times SimPy, required {TIMES_SIMPY:,.0f}")
    tally.line(peak_long <= MEMORY_GROWTH * peak,
               f"peak memory: {megabytes(peak)} for 30 days, {megabytes(peak_long)} for 300")
    return [
        ("SimPy, station completions per CPU second", f"{1 / peer.best:,.0f} (median {1 / peer.median:,.0f})"),
        ("Linewright, the same line, 30 days", f"{millions(moves / cpu.best)} (median {millions(moves / cpu.median)})"),
        ("ratio", f"{best:,.0f} (median {median:,.0f})"),
        ("30 days of the line, whole process, CPU time", seconds(cpu)),
        ("the same as the answer states it, wall time", seconds(wall)),
        ("peak memory, 30 days / 300 days", f"{megabytes(peak)} / {megabytes(peak_long)}"),
    ]


def whole_plant(tally, book):
    """The demo plant; the rows of the table."""
    answer, wall, cpu, peak = ask_demo(book, 5, "run", "--threads", "2")
    run = answer["run"]
    tally.line(wall.best <= DEMO_RUN_S, f"demo plant, run on 2 cores: {wall.best:.2f} s, required {DEMO_RUN_S} s")
    # Without trials, so that the completions stated are all that the time went to.
    alone, _, alone_cpu, _ = ask_demo(book, 5, "run", "--threads", "1", "--trials", "0")
    two = ("run", "--threads", "1", "--trials", "0", "--replications", "2")
    *_, peak_short = ask_demo(book, 1, *two, "--weeks", "2")
    *_, peak_long = ask_demo(book, 1, *two, "--weeks", "20")
    _, plan_wall, _, _ = ask_demo(book, 7, "plan")
    tally.line(plan_wall.best <= DEMO_PLAN_S, f"demo plant, plan: {plan_wall.best:.3f} s, required {DEMO_PLAN_S} s")
    moves = alone["run"].get("moves")
    if moves is None:
        tally.line(False, "the answer of `run` does not state its `moves`, so their speed is not known")
        speed = "not stated"
    else:
        best, median = moves / alone_cpu.best, moves / alone_cpu.median
        tally.line(best >= DEMO_MOVES_PER_S,
                   f"demo plant: {millions(best)} station completions per CPU second, "
                   f"required {millions(DEMO_MOVES_PER_S)}")
        speed = f"{millions(best)} (median {millions(median)})"
    tally.line(peak_long <= MEMORY_GROWTH * peak_short,
               f"peak memory of 2 replications: {megabytes(peak_short)} for 2 weeks, {megabytes(peak_long)} for 20")
    stated = f"{run['replications']} replications of {run['weeks']} weeks, {run['warm_up_h']:.0f} h of warm-up"
    return [
        (f"run, 2 cores, {stated}, trials included, wall time", seconds(wall)),
        ("the same, CPU time", seconds(cpu)),
        ("without trials, 1 core, CPU time", seconds(alone_cpu)),
        ("station completions per CPU second", speed),
        ("plan, wall time", seconds(plan_wall)),
        ("peak memory of run, 2 cores", megabytes(peak)),
        ("peak memory of 2 replications, 1 core, 2 / 20 weeks", f"{megabytes(peak_short)} / {megabytes(peak_long)}"),
    ]


def machine():
    """What the figures were measured on."""
    model = platform.processor() or platform.machine()
    try:
        with open("/proc/cpuinfo", encoding="utf-8") as facts:
            model = next(line.split(":")[1].strip() for line in facts if line.startswith("model name"))
    except (OSError, StopIteration):
        pass
    load = f", load {os.getloadavg()[0]:.1f}" if hasattr(os, "getloadavg") else ""
    return f"{model}, {os.cpu_count()} cores{load}; Python {platform.python_version()}, SimPy {simpy.__version__}"


def table(title, rows):
    width = max(len(what) for what, _ in rows)
    print(f"\n| {title:<{width}} | measured |\n|{'-' * (width + 2)}|---|")
    for what, value in rows:
        print(f"| {what:<{width}} | {value} |")


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--check", action="store_true", help="fail where a required figure is not met")
    asked = parser.parse_args()
    book = os.environ.get("LINEWRIGHT_DEMO")
    if not book:
        sys.exit("set LINEWRIGHT_DEMO to the demo plant's book; `cargo xtask bench` does so")
    print(f"{binary()}\n{machine()}")
    tally = Tally()
    lines = compare_lines(tally)
    plant = whole_plant(tally, book)
    table("reference line: 100 stations, 2 places, stops", lines)
    table("Merrow Quay", plant)
    code = tally.close()
    return code if asked.check else 0


if __name__ == "__main__":
    sys.exit(main())
