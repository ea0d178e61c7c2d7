"""What a case works with: a rig of ours (play.py), the real program on its line, and the truth beside what was told.

A Bench owns a temporary folder and every process it started; it ends them by their id. Nothing here judges but the
functions that say so: they take what the rig logged (true times) and what the program told.
"""
import contextlib
import json
import os
import re
import subprocess
import sys
import tempfile
import threading
import time

HERE = os.path.dirname(os.path.abspath(__file__))
HANG_S = 240  # generous: only ends what hangs


class Failed(Exception):
    """The case can't go on: what was asked did not come at all."""


def drill_text(reps=5, sets=1, moment="drop", level="advanced", test=False, extra_s=0.0, cap_s=30.0, rest_s=1):
    lines = ['title = "A short one"', f'level = "{level}"', f"sets = {sets}", f"reps = {reps}", f"rest_s = {rest_s}",
             "wait_minimum_s = 1", f"wait_extra_s = {extra_s}", f"wait_cap_s = {cap_s}"]
    if test:
        lines.append("test = true")
    return "\n".join(lines + ["[[attack]]", 'kind = "single"', f'moment = "{moment}"', 'counter = "front-hand"']) + "\n"


def partner_text(reps, start="random", kind="single"):
    return "\n".join(['title = "A partner"', 'source = "partner"', f'start = "{start}"', "sets = 1", f"reps = {reps}", "rest_s = 1",
                      "wait_minimum_s = 1", "wait_extra_s = 0.2", "wait_cap_s = 30", "[[attack]]", f'kind = "{kind}"',
                      'moment = "drop"', 'counter = "front-hand"']) + "\n"


class Told:
    """What one run of the program said: exit code, both streams, lines of stderr as they came."""

    def __init__(self, code, out, lines):
        self.code, self.out, self.lines = code, out, lines

    @property
    def session(self):
        try:
            return json.loads(self.out)["sessions"][0]
        except (ValueError, LookupError):
            raise Failed(f"exit {self.code}, no session told; stderr: {' / '.join(self.lines[-3:]) or 'nothing'}") from None

    @property
    def reps(self):
        """Attacks only: in a catch trial nothing comes."""
        return [rep for rep in self.session["reps"] if rep["attack"] != "nothing"]

    @property
    def notices(self):
        return self.session["notices"]

    @property
    def totals(self):
        return self.session["totals"]


class Bench:
    def __init__(self, program, journal_tool):
        self.program, self.journal_tool = program, journal_tool
        self.folder = tempfile.TemporaryDirectory(prefix="breakstep-faults-")
        self.processes = []
        self.rigs = 0
        self.running_rigs = []

    def __enter__(self):
        return self

    def __exit__(self, *_):
        for process in self.processes:
            self.end(process)
        self.folder.cleanup()

    def machine_was_slow(self):
        """Ends the rigs. A rig that came to its work too late, or got orders too late, shows a machine that could not play
        it: then a case that failed has shown nothing."""
        for rig in self.running_rigs:
            self.end(rig.process)
            if rig.truth("event", kind=0x15, reason=1) or any(line["worst_ms"] > 50 or line["tenth_ms"] > 1 for line in rig.truth("lateness")):
                return True
        return False

    def path(self, name):
        return os.path.join(self.folder.name, name)

    def check_rigs(self):
        """A rig that ended by itself proves nothing about the program."""
        for rig in self.running_rigs:
            if rig.process.poll() is not None:
                raise Failed(f"the rig itself ended, with {rig.process.returncode}")

    @staticmethod
    def end(process):
        if process.poll() is None:
            process.terminate()
            with contextlib.suppress(subprocess.TimeoutExpired):
                process.wait(10)
        if process.poll() is None:
            process.kill()
            process.wait()

    def rig(self, **script):
        self.rigs += 1
        return RunningRig(self, self.rigs, script)

    def environment(self):
        wanted = {"SDL_VIDEODRIVER": "dummy", "SDL_AUDIODRIVER": "dummy", "HOME": self.folder.name,
                  "XDG_CONFIG_HOME": self.path("config"), "XDG_DATA_HOME": self.path("data")}
        return {**os.environ, **wanted}

    def run(self, *words, hang_s=HANG_S):
        """The program, until it ends by itself."""
        return self.start(*words).ended(hang_s)

    def start(self, *words):
        return Running(self, [self.program, *words])

    def drill(self, rig, text=None, **how):
        return self.start_drill(rig, text, **how).ended()

    def start_drill(self, rig, text=None, seed=7, store="told.db", name="short.toml", sound=False):
        """Without sound and screen; with `sound` only without a screen, on a loudspeaker that nobody hears."""
        words = ["--headless"]
        if sound:
            with open(self.path("sound.toml"), "w") as file:
                file.write("[stage]\nshown = false\n")
            words = ["--settings", self.path("sound.toml")]
        if not os.path.exists(self.path(name)):
            with open(self.path(name), "w") as file:
                file.write(text or drill_text())
        return self.start("drill", self.path(name), "--rig", rig.path, "--json", "--store", self.path(store),
                          "--seed", str(seed), *words)

    def journal(self, store="told.db"):
        """Every record of the store, in order."""
        told = subprocess.run([self.journal_tool, self.path(store)], capture_output=True, text=True, check=False)
        if told.returncode != 0:
            raise Failed("the store can't be read: " + told.stderr.strip())
        return [json.loads(line) for line in told.stdout.splitlines()]


class Running:
    def __init__(self, bench, words):
        self.bench = bench
        self.process = subprocess.Popen(words, stdout=subprocess.PIPE, stderr=subprocess.PIPE, stdin=subprocess.DEVNULL,
                                        text=True, env=bench.environment(), cwd=bench.folder.name)
        bench.processes.append(self.process)
        self.out, self.lines = [], []
        self.readers = [threading.Thread(target=self.read, args=(stream, into), daemon=True)
                        for stream, into in ((self.process.stdout, self.out), (self.process.stderr, self.lines))]
        for reader in self.readers:
            reader.start()

    @staticmethod
    def read(stream, into):
        for line in stream:
            into.append(line.rstrip("\n"))

    def wait_for(self, pattern, seconds):
        """Until a line of stderr matches."""
        give_up = time.monotonic() + seconds
        while not any(re.search(pattern, line) for line in self.lines):
            if time.monotonic() > give_up or self.process.poll() is not None:
                raise Failed(f"never said: {pattern}; said: {' / '.join(self.lines[-3:]) or 'nothing'}")
            time.sleep(0.02)

    def ended(self, hang_s=HANG_S):
        try:
            self.process.wait(hang_s)
        except subprocess.TimeoutExpired:
            self.bench.end(self.process)
            seen = [rig.truth()[-1] for rig in self.bench.running_rigs if rig.truth()]
            raise Failed(f"did not end within {hang_s} s; last said: {' / '.join(self.lines[-2:]) or 'nothing'}; the rigs last "
                         f"knew: {seen}") from None
        for reader in self.readers:
            reader.join(10)
        return Told(self.process.returncode, "\n".join(self.out), self.lines)


class RunningRig:
    def __init__(self, bench, number, script):
        self.log = bench.path(f"rig-{number}.log")
        script = {"log": self.log, **script}
        if script.get("link") is True:
            script["link"] = bench.path(f"rig-{number}")
        with open(bench.path(f"rig-{number}.json"), "w") as file:
            json.dump(script, file)
        self.process = subprocess.Popen([sys.executable, "-B", os.path.join(HERE, "play.py"), bench.path(f"rig-{number}.json")],
                                        stdout=subprocess.PIPE, text=True)
        bench.processes.append(self.process)
        bench.running_rigs.append(self)
        self.path = self.process.stdout.readline().strip()
        if not self.path:
            raise Failed("the rig did not start")

    def truth(self, what=None, **wanted):
        """The log's lines of that kind, in order."""
        with open(self.log) as file:
            lines = [json.loads(line) for line in file if line.endswith("\n")]
        return [line for line in lines if what in (None, line["what"]) and all(line.get(k) == v for k, v in wanted.items())]


# ---- judged against the truth ----------------------------------------------------------------------------------------

def answers(rig):
    """True latencies in ms of the blows that answer a lamp, in order: [(latency, blow)]."""
    return [((blow["true_ns"] - blow["seen_ns"]) / 1e6, blow) for blow in rig.truth("blow")
            if blow["seen_ns"] is not None and not blow.get("second")]


def paired(rig, told):
    """Each rep with a latency that counts beside the true answer it tells of: the next one in order that is nearest."""
    true, pairs, after = answers(rig), [], 0
    for rep in told.reps:
        # Nobody of us hears the sound: of a rep that was cued by it the rig knows no latency.
        if rep["latency_ms"] is None or rep["verdict"] == "void" or rep["onset_source"] != "lamp":
            continue
        rest = range(after, len(true))
        if not rest:
            raise Failed(f"rep {rep['rep']} has a contact, and the rig knows of no blow for it")
        best = min(rest, key=lambda i: abs(true[i][0] - rep["latency_ms"]))
        pairs.append((rep, true[best][0], true[best][1]))
        after = best + 1
    return pairs


def wrong(rig, told, slack_ms=0.0):
    """Of the reps that count: those whose latency is not the true one within what they state, in words."""
    bad = []
    for rep, true, _ in paired(rig, told):
        if rep["uncertainty_ms"] is None:
            bad.append(f"rep {rep['rep']} states no uncertainty")
        elif abs(rep["latency_ms"] - true) > rep["uncertainty_ms"] + slack_ms:
            bad.append(f"rep {rep['rep']}: {rep['latency_ms']:.3f} ms ± {rep['uncertainty_ms']:.3f}, true {true:.3f}")
    return bad


def hits_of(records):
    """(boot, stamp in ticks) of every strike in a journal."""
    return [(r["fields"][0][0], r["fields"][0][1] // 500) for r in records if r["event"] == "pad_hit"]


def not_told_once(rig, told_hits, until_ns=None):
    """What is wrong with the strikes told against those that happened, in words; nothing if each was told once. What a
    reset took with it before the host had acknowledged it may be missing."""
    took = {(fault_boot, n) for fault_boot, numbers in resets(rig) for n in numbers}
    real = [e for e in rig.truth("event", kind=0x10) if not e.get("odd")]
    known = {(e["boot"], e["stamp"]) for e in real}
    began = min((line["true_ns"] for line in rig.truth("leave")), default=0)
    due = {(e["boot"], e["stamp"]) for e in real
           if e["at_ns"] >= began and (until_ns is None or e["at_ns"] <= until_ns) and (e["boot"], e["sequence"]) not in took}
    told = set(told_hits)
    bad = []
    if len(told) != len(told_hits):
        bad.append(f"{len(told_hits) - len(told)} told twice")
    if told - known:
        bad.append(f"{len(told - known)} told that never happened")
    if due - told:
        bad.append(f"{len(due - told)} of {len(due)} never told")
    return bad


def resets(rig):
    boots = rig.truth("boot")
    for fault in rig.truth("fault", do="reset"):
        yield max((b for b in boots if b["true_ns"] < fault["true_ns"]), key=lambda b: b["true_ns"])["boot"], fault["unacknowledged"]


def last_attack_ends(rig):
    """True time when the last lamps of the last attack changed; what happened later may miss the session's end."""
    return max((e["at_ns"] for e in rig.truth("event", kind=0x14)), default=0)


def said(pattern, lines):
    return [line for line in lines if re.search(pattern, line, re.IGNORECASE)]
