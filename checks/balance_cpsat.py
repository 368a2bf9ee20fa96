"""OR-Tools CP-SAT beside the solver of line balancing, in one run.

    python3 checks/balance_cpsat.py DATA [SECONDS] [RECORDS]

DATA is a folder of published instances with its index.json, RECORDS the built
example (target/release/examples/records). Both solve the same few instances
with the same limit of time, one after the other. Needs `pip install ortools`;
no part of the tests.
"""

import json
import pathlib
import subprocess
import sys
import time

from ortools.sat.python import cp_model

# A few of each difficulty: graph, takts.
INSTANCES = [
    ("KILBRID.IN2", [56, 62]),
    ("TONGE70.IN2", [160, 207]),
    ("WEE-MAG.IN2", [46, 56]),
    ("LUTZ2.IN2", [11, 15]),
    ("ARC83.IN2", [3786, 5408]),
]


def read(path):
    """Times and pairs (before, after), counted from 0."""
    lines = [line.strip() for line in path.read_text().splitlines() if line.strip()]
    count = int(lines[0])
    times = [int(line) for line in lines[1 : count + 1]]
    pairs = []
    for line in lines[count + 1 :]:
        before, after = (int(part) for part in line.split(","))
        if before < 0:
            break
        pairs.append((before - 1, after - 1))
    return times, pairs


def greedy(times, pairs, takt):
    """Stations by longest task first; an upper bound for the model."""
    before = {task: set() for task in range(len(times))}
    for first, second in pairs:
        before[second].add(first)
    done, stations = set(), []
    while len(done) < len(times):
        load, room = [], takt
        while True:
            ready = [
                task
                for task in range(len(times))
                if task not in done and before[task] <= done and times[task] <= room
            ]
            if not ready:
                break
            task = max(ready, key=lambda at: times[at])
            load.append(task)
            done.add(task)
            room -= times[task]
        stations.append(load)
    return stations


def cpsat(times, pairs, takt, seconds):
    """Best and bound of the model with one step variable a task and station."""
    start = greedy(times, pairs, takt)
    most = len(start)
    least = -(-sum(times) // takt)
    model = cp_model.CpModel()
    # by[j][k]: task j is done at station k or before.
    by = [
        [model.new_bool_var(f"by_{task}_{station}") for station in range(most)]
        for task in range(len(times))
    ]
    used = [model.new_bool_var(f"used_{station}") for station in range(most)]
    for task in range(len(times)):
        model.add(by[task][most - 1] == 1)
        for station in range(1, most):
            model.add_implication(by[task][station - 1], by[task][station])
    for first, second in pairs:
        for station in range(most):
            model.add_implication(by[second][station], by[first][station])
    for station in range(most):
        load = sum(
            times[task] * (by[task][station] - (by[task][station - 1] if station else 0))
            for task in range(len(times))
        )
        model.add(load <= takt * used[station])
        if station:
            model.add_implication(used[station], used[station - 1])
        if station < least:
            model.add(used[station] == 1)
    for at, tasks in enumerate(start):
        for task in tasks:
            for station in range(most):
                model.add_hint(by[task][station], station >= at)
    model.minimize(sum(used))
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = seconds
    solver.parameters.num_workers = 2
    status = solver.solve(model)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return most, least
    return round(solver.objective_value), round(solver.best_objective_bound)


def ours(records, data, name, seconds):
    """Best and bound as the example prints them."""
    told = subprocess.run(
        [records, data, "classic", str(seconds), "1", name],
        capture_output=True,
        text=True,
        check=True,
    ).stdout
    words = told.splitlines()[0].split()
    return int(words[words.index("best") + 1]), int(words[words.index("bound") + 1])


def main():
    data = pathlib.Path(sys.argv[1])
    seconds = float(sys.argv[2]) if len(sys.argv) > 2 else 10.0
    records = sys.argv[3] if len(sys.argv) > 3 else "target/release/examples/records"
    index = json.loads((data / "index.json").read_text())
    files = {pathlib.Path(row["file"]).name: row for row in index["instances"]}
    print(f"{'instance':<20}{'known':>6} | ours best bound    s | CP-SAT best bound    s")
    for file, takts in INSTANCES:
        row = files[file]
        times, pairs = read(data / row["file"])
        known = {pair["c"]: pair["optimum"] for pair in row["salbp1"]}
        for takt in takts:
            start = time.monotonic()
            mine = ours(records, data, f"{file} {takt}", seconds)
            middle = time.monotonic()
            theirs = cpsat(times, pairs, takt, seconds)
            end = time.monotonic()
            print(
                f"{file + ' ' + str(takt):<20}{known[takt]:>6} |"
                f" {mine[0]:>9} {mine[1]:>5} {middle - start:>4.1f} |"
                f" {theirs[0]:>11} {theirs[1]:>5} {end - middle:>4.1f}"
            )


if __name__ == "__main__":
    main()
