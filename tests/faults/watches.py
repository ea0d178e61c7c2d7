"""`rigs watch` and `rigs check` on rigs that are in trouble: each strike told once, each trouble said once."""
import json
import re

import bench as b
from cases import AWAY, RESET, SAID, TOLD, WAITING, case


def watched(bench, rig, row, seconds):
    told = bench.run("rigs", "watch", "--rig", rig.path, "--json", "--seconds", str(seconds), hang_s=seconds + 120)
    row.check(TOLD, told.code == 0, f"exit {told.code}: {' / '.join(told.lines[-2:])}")
    hits, boots, last = [], [line["boot"] for line in rig.truth("boot")], 0
    for event in map(json.loads, told.out.splitlines()):
        if event["event"] != "pad_hit":
            continue
        if event["at_us"] < last - 1e6 and len(boots) > 1:  # a new boot's clock begins at 0
            boots.pop(0)
        last = event["at_us"]
        hits.append((boots[0], round(event["at_us"] * 2)))
    until = min((line["true_ns"] for line in rig.truth("leave")), default=0) + int((seconds - 4) * 1e9)
    row.none(TOLD, b.not_told_once(rig, hits, until))
    row.check(TOLD, len(hits) > 0, "no strike was told")
    row.remark(f"{len(set(hits))} strikes")
    return told


@case("watch: lost bytes, doubled frames, garbage")
def watch_a_bad_line(bench, row):
    rig = bench.rig(lose=0.02, twice=7, garbage=0.1, start=False, blind_s=[1, 0.09])
    told = watched(bench, rig, row, 15)
    lines = b.said("damage|garbage|garbled", told.lines)
    row.check(SAID, len(lines) == 1, f"a damaged line: {len(lines)} lines say so")
    row.check(SAID, len(told.lines) <= 6, f"{len(told.lines)} lines on the terminal")


@case("watch: 2,000 hits a second")
def watch_many_hits(bench, row):
    rig = bench.rig(start=False, faults=[{"at": "leave", "ms": 1500, "do": "flood", "per_s": 2000, "s": 3}])
    told = watched(bench, rig, row, 12)
    row.check(SAID, len(told.lines) <= 6, f"{len(told.lines)} lines on the terminal")


@case("watch: silent for 3 s, then a reset")
def watch_trouble(bench, row):
    rig = bench.rig(start=False, blind_s=[0.5, 0.1], faults=[{"at": "leave", "ms": 3000, "do": "silence", "s": 3},
                                                            {"at": "leave", "ms": 10000, "do": "reset"}])
    told = watched(bench, rig, row, 18)
    for pattern, what in ((AWAY, "silence"), (RESET, "a reset")):
        lines = b.said(pattern, told.lines)
        row.check(SAID, len(lines) == 1, f"{what}: {len(lines)} lines ({' / '.join(told.lines[:5]) or 'nothing said'})")
    row.check(SAID, len(told.lines) <= 8, f"{len(told.lines)} lines on the terminal")


@case("watch: 60 s of quiet, then strikes", kind=WAITING)
def watch_quiet(bench, row):
    watch_after(bench, row, 60)


@case("watch: five minutes of quiet, then strikes", quick=False, kind=WAITING)
def watch_long_quiet(bench, row):
    watch_after(bench, row, 300)


def watch_after(bench, row, quiet_s):
    rig = bench.rig(start=False, blind_s=[quiet_s, 0.5])
    told = watched(bench, rig, row, quiet_s + 8)
    row.check(SAID, len(told.lines) <= 10, f"{len(told.lines)} other lines")
    row.check(SAID, not b.said("silent|silence|lost|gone|closed", told.lines), f"quiet is no trouble: {told.lines}")


@case("check: 5 % of bytes lost")
def check_damaged(bench, row):
    rig = bench.rig(lose=0.05, start=False)
    told = bench.run("rigs", "check", "--rig", rig.path, hang_s=90)
    whole = told.out + "\n" + "\n".join(told.lines)
    row.check(SAID, told.code == 0, f"exit {told.code}: {' / '.join(told.lines[-2:])}")
    row.check(SAID, re.search(r"damage", whole) and re.search(r"%|\d of \d", whole), "no share of damage is told")


@case("check: half of the bytes lost")
def check_broken(bench, row):
    rig = bench.rig(lose=0.5, start=False)
    told = bench.run("rigs", "check", "--rig", rig.path, hang_s=90)
    whole = told.out + "\n" + "\n".join(told.lines)
    row.check(SAID, told.code == 3, f"exit {told.code} instead of 3")
    row.check(SAID, re.search("damage|garbage|garbled", whole), f"that the line is damaged is not said: {' / '.join(told.lines[-2:])}")
    row.check(SAID, "right port" not in whole, "asks for another port")
