"""Asking the built command line, and printing what came of it.

Shared by the outside checks; no check itself.
"""

import json
import os
import subprocess
import sys
import tempfile


def binary():
    """The command line under test."""
    found = os.environ.get("LINEWRIGHT")
    if not found:
        sys.exit("set LINEWRIGHT to the built command line; `cargo xtask test` does so")
    return found


# Starts the command, waits for it and writes what it used. Linux hands the peak
# memory of a process on to what it starts, so a Python with SciPy in it would
# lend its own hundred megabytes to every answer; this one has about ten.
LAUNCHER = """
import json, os, subprocess, sys, time
start = time.perf_counter()
child = subprocess.Popen(sys.argv[2:])
_, status, usage = os.wait4(child.pid, 0)
wall = time.perf_counter() - start
used = [wall, usage.ru_utime + usage.ru_stime, usage.ru_maxrss]
with open(sys.argv[1], "w") as report:
    json.dump(used, report)
os._exit(os.waitstatus_to_exitcode(status) & 255)
"""


def measured(arguments, question=None, allowed=(0,)):
    """Runs the command line once.

    Gives its standard output, its wall time and processor time in seconds and
    its peak memory in bytes. The question, if any, goes to standard input.
    """
    with tempfile.TemporaryDirectory() as folder:
        report = os.path.join(folder, "used.json")
        done = subprocess.run(
            [sys.executable, "-I", "-S", "-c", LAUNCHER, report, binary(), *arguments],
            input=None if question is None else json.dumps(question),
            stdout=subprocess.PIPE, text=True)
        if done.returncode not in allowed:
            sys.exit(f"linewright {' '.join(arguments)} ended with {done.returncode}")
        with open(report, encoding="utf-8") as used:
            wall, cpu, peak = json.load(used)
    # macOS counts bytes, Linux kilobytes.
    return done.stdout, wall, cpu, peak * (1 if sys.platform == "darwin" else 1024)


def solve(solver, question, *options):
    """The answer of a solver to a question."""
    asked = subprocess.run([binary(), "solve", solver, "-", *options],
                           input=json.dumps(question), stdout=subprocess.PIPE, text=True)
    if asked.returncode != 0:
        sys.exit(f"linewright solve {solver} ended with {asked.returncode}")
    return json.loads(asked.stdout)


def solve_flow(question, *options):
    """The answer to a question on flow."""
    return solve("flow", question, *options)


class Tally:
    """Counts what held and what did not, one printed line each."""

    def __init__(self):
        self.passed = 0
        self.failed = 0

    def line(self, holds, text):
        if holds:
            self.passed += 1
        else:
            self.failed += 1
        print(f"{'ok' if holds else 'FAILED':<7}{text}")

    def close(self):
        """The closing line; the process's exit code."""
        print(f"\n{self.passed} passed, {self.failed} failed")
        return 1 if self.failed else 0
