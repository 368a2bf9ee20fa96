"""Asking the built command line, and printing what came of it.

Shared by the outside checks; no check itself.
"""

import json
import os
import subprocess
import sys
import tempfile
import time


def binary():
    """The command line under test."""
    found = os.environ.get("LINEWRIGHT")
    if not found:
        sys.exit("set LINEWRIGHT to the built command line; `cargo xtask test` does so")
    return found


def measured(arguments, question=None, allowed=(0,)):
    """Runs the command line once.

    Gives its standard output, its wall time and processor time in seconds and
    its peak memory in bytes. The question, if any, goes to standard input.
    """
    # Files, not pipes: the child is waited for by hand, since only that tells
    # its own peak memory from that of its elder siblings.
    with tempfile.TemporaryFile() as asked, tempfile.TemporaryFile() as answer:
        if question is not None:
            asked.write(json.dumps(question).encode())
            asked.seek(0)
        start = time.perf_counter()
        child = subprocess.Popen([binary(), *arguments], stdin=asked, stdout=answer)
        _, status, usage = os.wait4(child.pid, 0)
        wall = time.perf_counter() - start
        child.returncode = os.waitstatus_to_exitcode(status)
        if child.returncode not in allowed:
            sys.exit(f"linewright {' '.join(arguments)} ended with {child.returncode}")
        answer.seek(0)
        text = answer.read().decode()
    # macOS counts bytes, Linux kilobytes.
    unit = 1 if sys.platform == "darwin" else 1024
    return text, wall, usage.ru_utime + usage.ru_stime, usage.ru_maxrss * unit


def solve_flow(question, *options):
    """The answer to a question on flow."""
    text, *_ = measured(["solve", "flow", "-", *options], question)
    return json.loads(text)


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
