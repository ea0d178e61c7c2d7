#!/usr/bin/env python3
"""run.py PROGRAM JOURNAL_TOOL [--full | --only PATTERN] [--at-once N]: the fault table. Ends with "N passed, N failed".

Without --full the quick cases, side by side in processes of their own: most of them wait most of the time. The twenty
drills at once have the machine for themselves, at the end.
"""
import argparse
import concurrent.futures
import os
import re
import sys
import time
import traceback

import cases
import plans  # noqa: F401  (its cases register themselves)
import rates  # noqa: F401
import watches  # noqa: F401
import wire
from bench import Bench, Failed
from verdicts import COLUMNS, Row, table

PROTOCOL = os.path.join(os.path.dirname(os.path.abspath(__file__)), "../../firmware-protocol/PROTOCOL.md")


TRIES = 3


def run_case(name, program, journal_tool):
    """Again, if it failed while the rig's own log says that this machine had no time for it. What is promised of a machine
    with too much to do is never tried again."""
    for tries in range(1, TRIES + 1):
        row, slow = run_once(name, program, journal_tool)
        if row.passed or not slow or cases.CASES[name][0] in cases.CROWDS:
            break
    if tries > 1:
        row.remark(f"tried {tries} times: machine too busy")
    return row


def run_once(name, program, journal_tool):
    row, began, slow = Row(name), time.monotonic(), False
    try:
        with Bench(program, journal_tool) as bench:
            try:
                cases.CASES[name][0](bench, row)
                bench.check_rigs()
            finally:
                slow = bench.machine_was_slow()
    except Failed as why:
        row.check(COLUMNS[0], False, str(why))
    except Exception:  # a case's own mistake, or an answer of another shape: told with its place
        row.check(COLUMNS[0], False, traceback.format_exc(limit=-2).strip().replace("\n", " | "))
    row.seconds = time.monotonic() - began
    return row, slow


def wire_row():
    """The rig's own reading of the wire, against every worked frame of the page it was written from."""
    row = Row("the page's worked frames")
    with open(PROTOCOL) as file:
        frames = list(wire.worked_frames(file.read()))
    bad = [words for words, frame in frames if wire.payload_of(frame[:-1]) is None or wire.frame(wire.payload_of(frame[:-1])) != frame]
    row.check(COLUMNS[0], len(frames) > 30, f"only {len(frames)} worked frames found")
    row.none(COLUMNS[0], bad)
    return row


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("program")
    parser.add_argument("journal_tool")
    parser.add_argument("--full", action="store_true")
    parser.add_argument("--only", metavar="PATTERN")
    parser.add_argument("--at-once", type=int, default=18, metavar="N")
    options = parser.parse_args()
    names = [name for name, (_, quick) in cases.CASES.items()
             if (re.search(options.only, name) if options.only else quick or options.full)]
    # What waits for a minute comes first and disturbs nobody; then the twenty drills, which need a machine that is busy
    # with nothing else; then all others side by side.
    waiting = [name for name in names if cases.CASES[name][0] in cases.WAITING]
    crowds = [name for name in names if cases.CASES[name][0] in cases.CROWDS]
    beside = [name for name in names if name not in waiting + crowds]
    found = {}
    with concurrent.futures.ProcessPoolExecutor(options.at_once + len(waiting)) as pool:
        started = {}

        def start(these):
            started.update({name: pool.submit(run_case, name, options.program, options.journal_tool) for name in these})

        start(waiting)
        for name in crowds:
            start([name])
            started[name].result()
        start(sorted(beside, key=lambda name: "clock at" not in name))  # the longest first
        found = {name: future.result() for name, future in started.items()}
    rows = [wire_row()] + [found[name] for name in names]
    print(table(rows))
    passed = sum(row.passed for row in rows)
    print(f"{passed} passed, {len(rows) - passed} failed")
    return 0 if passed == len(rows) else 1


if __name__ == "__main__":
    sys.exit(main())
