"""One seed, one plan: many live drills at once on a machine that has too much to do."""
import os
import signal
import subprocess
import sys
import time

import bench as b
from cases import ANSWERS, CROWDS, SAID, SCORED, STEP, TOLD, case, played, voids

SETS, REPS = 2, 3
TEXT = b.drill_text(reps=REPS, sets=SETS, test=True, extra_s=0.8, cap_s=4)
# A test's attack has an advanced opponent's mean lengths: lift, up, pull-back. The foot lamp of the drop comes out of the
# dark where the lamps before it were ordered too late.
BEFORE_DROP_NS = (110 + 170 + 140) * 1_000_000


def many_at_once(bench, row, runs, busy):
    for _ in range(busy):
        bench.processes.append(subprocess.Popen([sys.executable, "-c", "while True: pass"]))
    rigs = [bench.rig(answer_ms=[40, 55, 70], step_ms=20, seed=i) for i in range(runs)]
    drills = [bench.start_drill(rig, TEXT, seed=11, store=f"told-{i}.db") for i, rig in enumerate(rigs)]
    told = [drill.ended(600) for drill in drills]
    plans, redraws, seen = {}, 0, 0
    for i, (rig, each) in enumerate(zip(rigs, told)):
        records = bench.journal(f"told-{i}.db")
        for number, plan in first_plans(records).items():
            plans.setdefault(number, set()).add(plan)
        again = [r for r in records if r["event"] == "set_planned" and r["fields"][2]]
        redraws += len(again)
        # An attack comes as it was planned or not at all: a lamp that this machine ordered too late stays dark.
        astray, lit = unplanned(rig, records)
        seen += lit
        row.none(SCORED, [f"run {i}: {words}" for words in astray])
        reasonless = [r for r in again if not reason_of(r)]
        row.check(SAID, not reasonless, f"run {i}: {len(reasonless)} plans drawn again without a reason in the journal")
        row.none(SCORED, b.wrong(rig, each))
        begins = [line["at_ns"] for line in rig.truth("event", kind=0x14)]
        row.check(TOLD, each.session["ended"] == "finished" and begins != [], f"run {i} ended: {each.session['ended']}")
    row.check(SCORED, sorted(plans) == list(range(SETS)), f"sets planned: {sorted(plans)}")
    for number, different in sorted(plans.items()):
        row.check(SCORED, len(different) == 1, f"set {number + 1}: {len(different)} different first plans in {runs} runs")
    row.check(SCORED, seen >= runs * SETS * REPS // 2, f"only {seen} of {runs * SETS * REPS} attacks were lit")
    row.remark(f"{runs} at once, {redraws} plans drawn again")


def unplanned(rig, records):
    """Lamps that began an attack at a moment no plan of this run names, in words; and how many began one."""
    onsets = [onset[1] for r in records if r["event"] == "set_planned" for _, onset, *_ in r["fields"][3]]
    allowed = onsets + [onset + BEFORE_DROP_NS for onset in onsets]
    astray, lit, before = [], 0, 0
    for event in rig.truth("event", kind=0x14):
        if before == 0 and event["lit"] == 0b0001:
            lit += 1
            off = min((abs(event["stamp"] * 500 - each) for each in allowed), default=10**12)
            if off > 1_000:
                astray.append(f"an attack lit {off / 1e6:.3f} ms beside its plan")
        before = event["lit"]
    return astray, lit


def first_plans(records):
    """By set: the first SetPlanned, onsets and ends in ns from `begin`."""
    found = {}
    for record in records:
        if record["event"] != "set_planned":
            continue
        number, begin, _, reps = record["fields"][:4]
        if number not in found:
            found[number] = tuple((rep, onset[1] - begin[1], end[1] - begin[1]) for rep, onset, end in (r[:3] for r in reps))
    return found


def reason_of(record):
    """The fields behind the plan's reps, or a third field that is more than yes or no, tell why it was drawn again."""
    redrawn, rest = record["fields"][2], record["fields"][4:]
    return (redrawn is not True and redrawn) or any(rest)


@case("20 drills at once with one seed", kind=CROWDS)
def twenty(bench, row):
    many_at_once(bench, row, 20, 2)


@case("20 drills at once, six idle loops beside", quick=False, kind=CROWDS)
def twenty_loaded(bench, row):
    many_at_once(bench, row, 20, 6)


@case("this computer asleep for 3 s in a set")
def asleep(bench, row):
    rig = bench.rig(answer_ms=ANSWERS, step_ms=STEP)
    drill = bench.start_drill(rig)
    give_up = time.monotonic() + b.HANG_S
    while len(rig.truth("attack")) < 2 and time.monotonic() < give_up and drill.process.poll() is None:
        time.sleep(0.02)
    os.kill(drill.process.pid, signal.SIGSTOP)
    time.sleep(3)  # the fault itself: as long as the computer sleeps
    os.kill(drill.process.pid, signal.SIGCONT)
    told = drill.ended()
    records = played(bench, rig, told, row)
    row.check(SCORED, told.session["ended"] == "finished", f"the session ended: {told.session['ended']}")
    # The second attack ran when it fell asleep; all others are drawn again and count.
    row.check(SCORED, len(voids(told)) <= 1, f"void: {voids(told)}")
    again = [r for r in records if r["event"] == "set_planned" and r["fields"][2]]
    row.check(SAID, again and all(reason_of(r) for r in again), f"{len(again)} plans drawn again, without a reason in the journal")
