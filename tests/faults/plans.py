"""One seed, one plan: many live drills at once on a machine that has too much to do."""
import subprocess
import sys

import bench as b
from cases import CROWDS, SAID, SCORED, TOLD, case

SETS, REPS = 2, 3
TEXT = b.drill_text(reps=REPS, sets=SETS, test=True, extra_s=0.8, cap_s=4)


def many_at_once(bench, row, runs, busy):
    for _ in range(busy):
        bench.processes.append(subprocess.Popen([sys.executable, "-c", "while True: pass"]))
    rigs = [bench.rig(answer_ms=[40, 55, 70], step_ms=20, seed=i) for i in range(runs)]
    drills = [bench.start_drill(rig, TEXT, seed=11, store=f"told-{i}.db") for i, rig in enumerate(rigs)]
    told = [drill.ended(600) for drill in drills]
    plans, redraws = {}, 0
    for i, (rig, each) in enumerate(zip(rigs, told)):
        records = bench.journal(f"told-{i}.db")
        for number, plan in first_plans(records).items():
            plans.setdefault(number, set()).add(plan)
        again = [r for r in records if r["event"] == "set_planned" and r["fields"][2]]
        redraws += len(again)
        reasonless = [r for r in again if not reason_of(r)]
        row.check(SAID, not reasonless, f"run {i}: {len(reasonless)} plans drawn again without a reason in the journal")
        row.none(SCORED, b.wrong(rig, each))
        begins = [line["at_ns"] for line in rig.truth("event", kind=0x14)]
        row.check(TOLD, each.session["ended"] == "finished" and begins != [], f"run {i} ended: {each.session['ended']}")
    row.check(SCORED, sorted(plans) == list(range(SETS)), f"sets planned: {sorted(plans)}")
    for number, different in sorted(plans.items()):
        row.check(SCORED, len(different) == 1, f"set {number + 1}: {len(different)} different first plans in {runs} runs")
    row.remark(f"{runs} at once, {redraws} plans drawn again")


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
