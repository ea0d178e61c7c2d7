"""The rig's clock against the true one: latencies must be true, whatever the rig's rate, within what each states."""
import bench as b
from cases import SCORED, TOLD, case, played

ANSWERS = [31.3, 44.7, 52.9, 66.1, 78.7]
BOUND = 600  # ticks: 0.3 ms, stated by every channel of the noisy rig


def at_rate(bench, row, ppm, noise):
    rig = bench.rig(answer_ms=ANSWERS, step_ms=25, ppm=ppm, bound=max(1, noise), noise=noise, seed=abs(int(ppm)) + noise)
    told = bench.drill(rig, b.drill_text(20))
    played_well(bench, rig, told, row)
    errors = [abs(rep["latency_ms"] - true) for rep, true, _ in b.paired(rig, told)]
    row.check(SCORED, len(errors) == 20, f"{len(errors)} of 20 reps have a latency")
    if noise == 0:
        far = [error for error in errors if error > 0.1]
        row.check(SCORED, not far, f"{len(far)} of {len(errors)} more than 0.1 ms off, {max(errors, default=0):.3f} ms the worst")
    commits = [abs(rep["latency_ms"] - rep["commit_ms"] - 25) for rep, _, _ in b.paired(rig, told) if rep["commit_ms"] is not None]
    allowed = 0.1 + 2 * noise / 2000
    row.check(SCORED, len(commits) == len(errors) and max(commits, default=0) <= allowed,
              f"steps: {len(commits)} known, {max(commits, default=0):.3f} ms off at worst ({allowed:.1f} allowed)")
    # Told as what a second of the rig's is short of one of the host's: below 0 for a clock that runs fast.
    told_ppm, true_ppm = told.totals.get("clock_rate_ppm"), (1 / (1 + ppm * 1e-6) - 1) * 1e6
    row.check(SCORED, told_ppm is not None and abs(told_ppm - true_ppm) < 5, f"clock_rate_ppm is {told_ppm}, truly {true_ppm:.1f}")
    row.remark(f"worst {max(errors, default=0):.4f} ms, ± {widest(told):.4f} stated")


def widest(told):
    return max((rep["uncertainty_ms"] or 0 for rep in told.reps), default=0)


def played_well(bench, rig, told, row):
    """As played(), but one in twenty may lie outside: 99 in 100 are promised, and of 20 two are too many for that."""
    from verdicts import Row
    strict = Row("")
    played(bench, rig, told, strict)
    row.none(TOLD, [words for column, words in strict.findings if column == TOLD and words])
    outside = b.wrong(rig, told)
    row.check(SCORED, len(outside) <= 1, f"{len(outside)} of 20 outside: {'; '.join(outside[:2])}")


for ppm in (9000, -9000, 120):
    for noise in (0, BOUND):
        words = f"clock at {ppm:+} ppm, " + ("noisy stamps" if noise else "exact stamps")
        case(words)(lambda bench, row, ppm=ppm, noise=noise: at_rate(bench, row, ppm, noise))
