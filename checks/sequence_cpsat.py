"""OR-Tools CP-SAT beside the solver of build orders, in one run.

    python3 checks/sequence_cpsat.py DATA [SECONDS] [ORDERS]

DATA is a folder of published instances with its index.json, ORDERS the built
example (target/release/examples/orders). Both order the same few classic
instances (CSPLib prob001) with the same limit of time on two cores, one after
the other, for the fewest violated windows. Needs `pip install ortools`; no part
of the tests.
"""

import json
import pathlib
import subprocess
import sys
import time

from ortools.sat.python import cp_model

# Feasible and infeasible ones, easy and hard.
INSTANCES = [
    "4_72", "26_82", "10_93", "36_92", "19_71", "75-05", "90-05",
    "pb_200_01", "pb_200_03", "pb_300_05", "pb_400_03",
]


def read(path):
    """Most and window of each option; count and options of each class."""
    numbers = [int(word) for word in path.read_text().split()]
    _, options, classes = numbers[:3]
    most = numbers[3 : 3 + options]
    window = numbers[3 + options : 3 + 2 * options]
    rows, at = [], 3 + 2 * options
    for _ in range(classes):
        row = numbers[at : at + options + 2]
        rows.append((row[1], row[2:]))
        at += options + 2
    return most, window, rows


def cpsat(most, window, rows, seconds):
    """Best and bound: one variable a class and place, one a window."""
    cars = sum(count for count, _ in rows)
    model = cp_model.CpModel()
    here = [
        [model.new_bool_var(f"c{cls}_{place}") for place in range(cars)]
        for cls in range(len(rows))
    ]
    for place in range(cars):
        model.add_exactly_one(here[cls][place] for cls in range(len(rows)))
    for cls, (count, _) in enumerate(rows):
        model.add(sum(here[cls]) == count)
    broken = []
    for option in range(len(most)):
        having = [cls for cls, (_, has) in enumerate(rows) if has[option]]
        for start in range(cars - window[option] + 1):
            over = model.new_bool_var(f"o{option}_{start}")
            load = sum(
                here[cls][place]
                for cls in having
                for place in range(start, start + window[option])
            )
            model.add(load <= most[option] + (window[option] - most[option]) * over)
            broken.append(over)
    model.minimize(sum(broken))
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = seconds
    solver.parameters.num_workers = 2
    status = solver.solve(model)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return None, 0
    return round(solver.objective_value), round(solver.best_objective_bound)


def ours(orders, data, name, seconds):
    """Best, bound and millions of moves a second, from the example's table."""
    told = subprocess.run(
        [orders, data, "classic", str(seconds), name],
        capture_output=True,
        text=True,
        check=True,
    ).stdout.splitlines()
    row = told[1].split()
    return int(row[2]), int(row[3]), float(row[-2])


def main():
    data = pathlib.Path(sys.argv[1])
    seconds = float(sys.argv[2]) if len(sys.argv) > 2 else 60.0
    orders = sys.argv[3] if len(sys.argv) > 3 else "target/release/examples/orders"
    index = json.loads((data / "index.json").read_text())
    known = {
        pathlib.Path(row["file"]).stem: row.get("best_violated_windows")
        for row in index["instances"]
        if "csplib" in row["file"]
    }
    print(f"{'instance':<12}{'known':>6} | ours best bound M moves/s     s | CP-SAT best bound     s")
    for name in INSTANCES:
        path = data / "carseq" / "csplib" / f"{name}.txt"
        start = time.monotonic()
        mine = ours(orders, data, f"{name}.txt", seconds)
        middle = time.monotonic()
        theirs = cpsat(*read(path), seconds)
        end = time.monotonic()
        best = "none" if theirs[0] is None else theirs[0]
        print(
            f"{name:<12}{known.get(name, '?'):>6} |"
            f" {mine[0]:>9} {mine[1]:>5} {mine[2]:>9.1f} {middle - start:>5.1f} |"
            f" {best:>11} {theirs[1]:>5} {end - middle:>5.1f}",
            flush=True,
        )


if __name__ == "__main__":
    main()
