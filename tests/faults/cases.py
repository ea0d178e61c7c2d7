"""The faults, one function each: a rig that has it, a drill on it, and what must be told, scored and said.

Each takes a Bench and a Row. `quick` cases are the table of tests/run; the others come with the full part.
"""
import re

import bench as b
from verdicts import COLUMNS

TOLD, SCORED, SAID = COLUMNS
# All within the drop of an advanced opponent, who is quick: 90 ms at least, then 80 to 250 ms of gap.
ANSWERS = [42, 50.5, 58, 66.5, 74, 79]
STEP = 35
# After an attack's last lamp went dark: its gap is over, and the next attack is 700 ms away or more.
BETWEEN = 400
REPS = 5
CASES = {}
WAITING, CROWDS = [], []  # cases that take a minute of doing nothing; that load the machine by themselves


def case(name, quick=True, kind=None):
    def keep(function):
        CASES[name] = (function, quick)
        if kind is not None:
            kind.append(function)
        return function
    return keep


def true_time(rig, target):
    """A rig's time of the journal, [boot, ns], as true time."""
    for boot in rig.truth("boot", boot=target[0]):
        return boot["true_ns"] + round(target[1] / (1 + boot["ppm"] * 1e-6))
    raise b.Failed("the journal names a boot that the rig never had")


def played(bench, rig, told, row):
    """What holds of every drill that ran to its end: each strike in the journal once, latencies within what they state."""
    records = bench.journal()
    closes = [true_time(rig, r["fields"][1]) for r in records if r["event"] == "rep_closed"]
    row.none(TOLD, b.not_told_once(rig, b.hits_of(records), max(closes, default=0)))
    row.none(SCORED, b.wrong(rig, told))
    return records


def all_count(told, row, reps=REPS):
    counted = [rep for rep in told.reps if rep["verdict"] != "void"]
    row.check(SCORED, told.session["ended"] == "finished", f"the session ended: {told.session['ended']}")
    row.check(SCORED, len(counted) == reps, f"{len(counted)} of {reps} reps count; void: {voids(told) or 'none'}")
    not_on_time = [f"rep {rep['rep']} is {rep['verdict']}" for rep in counted if rep["verdict"] != "on time"]
    row.none(SCORED, not_on_time)


RESET = "reset|restarted|started anew|started again"
AWAY = (r"gone|\blost\b|away|closed|unplugged|disconnect|silent|silence|says nothing|stopped answering|no (longer )?answer"
        r"|nothing (is |was )?heard|nothing .*answers|rig does not answer")


def voids(told):
    return [rep["void_reason"] for rep in told.reps if rep["verdict"] == "void"]


def said_once(told, row, pattern, what, terminal=True):
    """A notice and a line on the terminal, each once, with what to do about it."""
    notices = b.said(pattern, told.notices)
    row.check(SAID, len(notices) == 1, f"{what}: {len(notices)} notices ({'; '.join(told.notices) or 'none at all'})")
    row.check(SAID, all(re.search(r": \S", notice) for notice in notices), f"{what}: the notice does not say what to do")
    if terminal:
        lines = b.said(pattern, told.lines)
        row.check(SAID, len(lines) == 1, f"{what}: {len(lines)} lines on the terminal ({' / '.join(told.lines[:4])})")


def nothing_else_said(told, row):
    row.check(SAID, not told.notices, f"notices without need: {'; '.join(told.notices)}")
    nothing_twice(told, row)


def nothing_twice(told, row):
    twice = [line for line in told.lines + told.notices if told.lines.count(line) > 1 or told.notices.count(line) > 1]
    row.check(SAID, not twice, f"said more than once: {'; '.join(sorted(set(twice)))}")


def simple(bench, row, reps=REPS, sound=False, **script):
    rig = bench.rig(answer_ms=ANSWERS, step_ms=STEP, **script)
    told = bench.drill(rig, b.drill_text(reps), sound=sound)
    if voids(told):
        row.remark("void: " + ", ".join(voids(told)))
    return rig, told, played(bench, rig, told, row)


# ---- the line --------------------------------------------------------------------------------------------------------

@case("no fault at all")
def no_fault(bench, row):
    rig, told, _ = simple(bench, row, second_ms=150)
    all_count(told, row)
    nothing_else_said(told, row)
    # Wherever its zero lies, commit and later contacts have one axis.
    true = STEP + 150
    apart = [f"{rep['later_contacts_ms'][0] - rep['commit_ms']:.1f}" for rep in told.reps
             if rep["commit_ms"] is not None and len(rep["later_contacts_ms"]) == 1
             and abs(rep["later_contacts_ms"][0] - rep["commit_ms"] - true) > 0.1]
    row.none(SCORED, [f"commit and second blow lie {each} ms apart, truly {true}" for each in apart])


# ---- a partner's leg -------------------------------------------------------------------------------------------------

def leg(*edges, blow=None):
    """Edges as (ms from toe-off, gate, broken); the foot leaves 400 ms after the cue."""
    return [[400 + ms, gate, broken] for ms, gate, broken in edges] + ([[400 + blow, "blow"]] if blow is not None else [])


KICK = ((0, "low", 1), (120, "hip", 1), (500, "hip", 0), (650, "low", 0))
# What the leg does, a blow (ms from toe-off) with the phase that it falls in, and how it must be told.
LEGS = [
    ("single", leg(*KICK, blow=560), "drop", [("lift", 0), ("up or pull-back", 120), ("drop", 500), ("gap", 650)]),
    ("single", leg(*KICK, blow=300), "up or pull-back",
     [("lift", 0), ("up or pull-back", 120), ("drop", 500), ("gap", 650)]),
    ("feint", leg((0, "low", 1), (210, "low", 0), blow=100), "lift", [("lift", 0), ("guard", 210)]),
    ("second-lift", leg((0, "low", 1), (110, "hip", 1), (400, "hip", 0), (480, "hip", 1), (700, "hip", 0), (830, "low", 0),
                        blow=440), "lift",
     [("lift", 0), ("up or pull-back", 110), ("lift", 400), ("up or pull-back", 480), ("drop", 700), ("gap", 830)]),
    # A bounce before the kick is no lift.
    ("single", [[120, "low", 1], [230, "low", 0]] + leg(*KICK, blow=700), "gap",
     [("lift", 0), ("up or pull-back", 120), ("drop", 500), ("gap", 650)]),
    ("reset", leg(*KICK, (850, "low", 1), (960, "hip", 1), (1300, "hip", 0), (1420, "low", 0), blow=1360), "drop",
     [("lift", 0), ("up or pull-back", 120), ("drop", 500), ("gap", 650), ("lift", 850), ("up or pull-back", 960),
      ("drop", 1300), ("gap", 1420)]),
]


@case("a partner's leg")
def partners_leg(bench, row):
    rig = bench.rig(gates=6, lamps=5, legs=[one[1] for one in LEGS], answer_ms=[])
    told = bench.drill(rig, b.partner_text(len(LEGS)))
    reps = told.reps
    row.check(SCORED, len(reps) == len(LEGS), f"{len(reps)} reps of {len(LEGS)} legs; void: {voids(told) or 'none'}")
    for rep, (came, _, fell, phases) in zip(reps, LEGS):
        row.check(SCORED, rep["came_kind"] == came, f"a {came} is told as {rep['came_kind']}")
        row.check(SCORED, rep["phase"] == fell, f"a blow in the {fell} of a {came} is told in {rep['phase']}")
        got = [(each["phase"], each["start_ms"]) for each in rep["phases"]]
        row.check(TOLD, [phase for phase, _ in got] == [phase for phase, _ in phases], f"{came}: {got}")
        row.none(TOLD, [f"{came}: {phase} at {ms:.3f} ms, truly {true}" for (phase, ms), (_, true) in zip(got, phases)
                        if abs(ms - true) > 0.05])
        row.check(TOLD, abs(rep["cue_to_toe_off_ms"] - 400) < 0.05, f"cue to toe-off {rep['cue_to_toe_off_ms']} ms, truly 400")
    nothing_else_said(told, row)


@case("a partner's drill without their gates")
def no_partner_gates(bench, row):
    rig = bench.rig(gates=4, lamps=5, answer_ms=[])
    told = bench.drill(rig, b.partner_text(2))
    row.check(SCORED, told.code == 3, f"exit {told.code}")
    row.check(SAID, any("low and hip gate" in line for line in told.lines), f"said: {' / '.join(told.lines[:4])}")


@case("5 % of bytes lost both ways")
def bytes_lost(bench, row):
    _, told, _ = simple(bench, row, lose=0.05)
    counted = [rep for rep in told.reps if rep["verdict"] != "void"]
    row.check(SCORED, len(counted) >= 4, f"only {len(counted)} of 5 reps count; void: {voids(told)}")
    said_once(told, row, "damage", "a damaged line")


@case("every 7th frame twice")
def frames_twice(bench, row):
    rig, told, _ = simple(bench, row, twice=7)
    all_count(told, row)
    nothing_else_said(told, row)


@case("garbage between frames")
def garbage(bench, row):
    rig, told, _ = simple(bench, row, garbage=0.3)
    all_count(told, row)
    said_once(told, row, "damage|garbage|garbled", "garbage")


@case("unknown messages and events, a newer minor version")
def unknown(bench, row):
    rig, told, records = simple(bench, row, noise_every_s=0.2, minor=3, appended=4)
    all_count(told, row)
    lost = [r for r in records if r["event"] == "events_lost"]
    row.check(TOLD, not lost, f"{len(lost)} times events counted as lost")
    strange = len(rig.truth("event", strange=True))
    found = told.totals.get("unknown_events")
    # Some came before the session was asked for and after it ended.
    row.check(SAID, found is not None and strange - 15 <= found <= strange,
              f"unknown_events is {found}; the rig sent about {strange}")
    nothing_twice(told, row)


@case("values out of range")
def out_of_range(bench, row):
    odd = [[0x10, "00000000"], [0x10, "00d00700"], [0x10, "07800200"], [0x11, "07"], [0x12, "ff"], [0x10, "ffffffff"]]
    rig, told, records = simple(bench, row, faults=[{"at": "end", "nth": 2, "ms": BETWEEN, "do": "odd", "events": odd},
                                               {"at": "attack", "nth": 4, "ms": 10, "do": "odd", "events": odd}])
    all_count(told, row)
    lost = [r for r in records if r["event"] == "events_lost"]
    row.check(TOLD, not lost, f"{len(lost)} times events counted as lost")
    found = told.totals.get("impossible_events")
    row.check(SAID, found == 2 * len(odd), f"impossible_events is {found}; the rig sent {2 * len(odd)}")
    nothing_twice(told, row)


@case("2,000 hits a second")
def many_hits(bench, row):
    flood = {"at": "end", "nth": 2, "ms": BETWEEN, "do": "flood", "per_s": 2000, "s": 1, "pad": 2}
    rig = bench.rig(answer_ms=ANSWERS, step_ms=STEP, faults=[flood])
    told = bench.drill(rig)
    records = bench.journal()
    closes = [true_time(rig, r["fields"][1]) for r in records if r["event"] == "rep_closed"]
    row.none(TOLD, b.not_told_once(rig, b.hits_of(records), max(closes, default=0)))
    row.check(SCORED, len(told.reps) == REPS and not voids(told), f"{len(told.reps)} reps, void: {voids(told) or 'none'}")
    others = [f"rep {rep['rep']} is {rep['verdict']}" for i, rep in enumerate(told.reps) if i != 2 and rep["verdict"] != "on time"]
    row.none(SCORED, others)
    # The flood came before the third attack: whoever struck so struck early.
    row.check(SCORED, told.reps[2]["verdict"] == "early", f"the flooded rep is {told.reps[2]['verdict']}")
    said_once(told, row, "fires alone", "a pad that fires alone")


# ---- gone and back ---------------------------------------------------------------------------------------------------

@case("reset in a set")
def reset(bench, row):
    rig, told, _ = simple(bench, row, faults=[{"at": "attack", "nth": 3, "ms": 100, "do": "reset"}])
    all_count(told, row)
    row.check(SCORED, voids(told) in ([], ["board_reset"]), f"void: {voids(told)}")
    said_once(told, row, RESET, "a reset")


@case("port back under the same name")
def back_same(bench, row):
    rig, told, _ = simple(bench, row, faults=[{"at": "attack", "nth": 3, "ms": 100, "do": "away", "s": 2, "as": "same"}])
    returned(told, row)


@case("port back under another terminal")
def back_other(bench, row):
    rig, told, _ = simple(bench, row, link=True,
                          faults=[{"at": "attack", "nth": 3, "ms": 100, "do": "away", "s": 2, "as": "other"}])
    returned(told, row)


def returned(told, row):
    all_count(told, row)
    row.check(SCORED, len(voids(told)) <= 1, f"more than the rep that ran was used up: void {voids(told)}")
    said_once(told, row, AWAY, "the rig is away")
    back = b.said(r"\bback\b|again|return|reconnect", told.lines)
    row.check(SAID, len(back) >= 1, "its return is not said")
    nothing_twice(told, row)


@case("silent for 5 s in a set")
def short_silence(bench, row):
    rig, told, _ = simple(bench, row, faults=[{"at": "attack", "nth": 3, "ms": 100, "do": "silence", "s": 5}])
    returned(told, row)


@case("silent for good", kind=WAITING)
def long_silence(bench, row):
    rig = bench.rig(answer_ms=ANSWERS, step_ms=STEP, faults=[{"at": "attack", "nth": 2, "ms": 300, "do": "silence", "s": 1000}])
    told = bench.drill(rig)
    row.check(SAID, told.code == 3, f"exit {told.code} instead of 3")
    row.check(SCORED, told.session["ended"] == "rig gone", f"the session ended: {told.session['ended']}")
    row.none(SCORED, b.wrong(rig, told))
    # Once when it fell silent; that the session was ended because of it is another thing to say.
    notices, lines = b.said(AWAY, told.notices), b.said(AWAY, [line for line in told.lines if "ended" not in line])
    row.check(SAID, len(notices) == 1 and len(lines) == 1, f"{len(notices)} notices, {len(lines)} lines: {' / '.join(told.lines)}")
    row.check(SAID, told.lines and "ended" in told.lines[-1], f"its last word is: {told.lines[-1:]}")
    row.check(SAID, len(told.lines) <= 8, f"{len(told.lines)} lines on the terminal")


@case("the clock jumps")
def clock_jump(bench, row):
    rig, told, _ = simple(bench, row, faults=[{"at": "end", "nth": 3, "ms": BETWEEN, "do": "jump", "s": 5}])
    # Orders for the attack after it may have been on their way: by the rig's new clock they came seconds late.
    row.check(SCORED, voids(told) in ([], ["clock_jump"], ["cue_late"]), f"void: {voids(told)}")
    all_count(told, row)
    said_once(told, row, "clock.*jump|jump.*clock|clock (has )?(leapt|leaped|moved)", "a clock that jumps")


# ---- stamps ----------------------------------------------------------------------------------------------------------

@case("stamps 30 ms backwards")
def backwards_little(bench, row):
    rig, told, _ = simple(bench, row, back_ms={"3": 30})
    all_count(told, row)
    nothing_else_said(told, row)


@case("stamps 200 ms backwards")
def backwards_much(bench, row):
    rig, told, _ = simple(bench, row, back_ms={"3": 200})
    reasons = [rep["void_reason"] for rep in told.reps]
    row.check(SCORED, len(told.reps) >= 3 and told.reps[2]["void_reason"] == "impossible_stamps",
              f"the third rep is {told.reps[2]['verdict']}, {told.reps[2]['void_reason']}")
    row.check(SCORED, sum(reason is not None for reason in reasons) == 1, f"void: {voids(told)}")
    others = [f"rep {rep['rep']} is {rep['verdict']}" for i, rep in enumerate(told.reps) if i != 2 and rep["verdict"] != "on time"]
    row.none(SCORED, others)
    said_once(told, row, "backward|impossible|went back|run back", "stamps that run backwards")


# ---- lamps -----------------------------------------------------------------------------------------------------------

@case("no lamps")
def no_lamps(bench, row):
    rig = bench.rig(lamps=0, blind_s=[3, 0.83])
    told = bench.drill(rig, b.drill_text(4), sound=True)
    played_blindly(bench, rig, told, row)
    # A sound that a busy machine could not play is a void rep with its own reason, and given again.
    counted = [rep for rep in told.reps if rep["verdict"] != "void"]
    row.check(SCORED, len(counted) == 4 and set(voids(told)) <= {"cue_missing"}, f"{len(counted)} of 4 count, void: {voids(told)}")
    by_sound = [f"rep {rep['rep']} by {rep['onset_source']}" for rep in counted if rep["onset_source"] != "sound"]
    row.none(SCORED, by_sound)
    sure = [f"rep {rep['rep']} claims ± {rep['uncertainty_ms']} ms" for rep in told.reps if rep["uncertainty_ms"] is not None]
    row.none(SCORED, sure)  # this loudspeaker's delay was never measured
    said_once(told, row, "lamp", "no lamps")


def played_blindly(bench, rig, told, row):
    records = bench.journal()
    closes = [true_time(rig, r["fields"][1]) for r in records if r["event"] == "rep_closed"]
    row.none(TOLD, b.not_told_once(rig, b.hits_of(records), max(closes, default=0)))


@case("no lamps, no sound, no screen")
def nothing_to_cue_with(bench, row):
    rig = bench.rig(lamps=0, blind_s=[3, 0.83])
    told = bench.drill(rig)
    row.check(SAID, told.code == 3, f"exit {told.code} instead of 3")
    lines = b.said("lamp|cue", told.lines)
    row.check(SAID, len(lines) == 1, f"{len(lines)} lines say why ({' / '.join(told.lines[:4]) or 'nothing said'})")
    row.check(SCORED, '"verdict"' not in told.out, "reps were given though none could be cued")


@case("lamps that accept and never answer")
def silent_lamps(bench, row):
    lamps_fail(bench, row, "silent")


@case("lamp orders never accepted")
def deaf_lamps(bench, row):
    lamps_fail(bench, row, "deaf")


def lamps_fail(bench, row, mode):
    rig = bench.rig(answer_ms=ANSWERS, step_ms=STEP, faults=[{"at": "end", "nth": 1, "ms": BETWEEN, "do": "lamps", "mode": mode}])
    told = bench.drill(rig, b.drill_text(7), sound=True)
    played(bench, rig, told, row)
    reasons = voids(told)
    row.check(SCORED, 2 <= len(reasons) <= 3 and set(reasons) == {"lamps_silent"}, f"void: {reasons or 'none'}")
    by_sound = [rep for rep in told.reps if rep["verdict"] != "void" and rep["onset_source"] == "sound"]
    row.check(SCORED, len(by_sound) >= 3, f"{len(by_sound)} reps by sound after the lamps fell silent")
    said_once(told, row, "lamp", "silent lamps")


@case("lamps 300 ms late")
def late_lamps(bench, row):
    rig, told, _ = simple(bench, row, faults=[{"at": "end", "nth": 1, "ms": BETWEEN, "do": "lamps", "mode": "late", "late_ms": 300},
                                              {"at": "end", "nth": 3, "ms": BETWEEN, "do": "lamps", "mode": ""}])
    late_reps(told, row, {1, 2}, {"cue_late"})


@case("lamps four seconds late, all at once")
def held_lamps(bench, row):
    rig, told, _ = simple(bench, row, 7, sound=True, faults=[{"at": "end", "nth": 1, "ms": BETWEEN, "do": "lamps", "mode": "hold", "late_ms": 4000}])
    # Two or three attacks fall into four seconds; the lamps that came at once belong to none of them.
    first = [i for i, rep in enumerate(told.reps) if rep["verdict"] == "void"]
    row.check(SCORED, first == list(range(1, 1 + len(first))) and 2 <= len(first) <= 3, f"void are the reps {first}")
    late_reps(told, row, set(first) or {1}, {"cue_late", "lamps_silent"}, "lamp.*late|lamps do not answer")


def late_reps(told, row, which, reasons, words="lamp.*late|late.*lamp"):
    row.check(SCORED, told.session["ended"] == "finished", f"the session ended: {told.session['ended']}")
    for i, rep in enumerate(told.reps):
        if i in which:
            row.check(SCORED, rep["void_reason"] in reasons, f"rep {i}, late: {rep['verdict']}, {rep['void_reason']}")
        elif rep["onset_source"] == "lamp":
            row.check(SCORED, rep["verdict"] == "on time", f"rep {i}, in time: {rep['verdict']}, {rep['void_reason']}")
    said_once(told, row, words, "late lamps")
