#!/usr/bin/env python3
"""A rig on a pseudo-terminal, an athlete who sees its lamps, and faults at planned moments.

    play.py SCRIPT.json     prints the line's path on stdout and runs until it is stopped (SIGTERM)

The script, every key with a default: `link` (a name of its own for the line: a symbolic link), `log` (the rig's own
truth, JSON lines), `lose`, `twice`, `garbage` (line.py), `ppm`, `bound`, `noise`, `pads`, `gates`, `lamps`, `syncs`,
`minor`, `appended`, `seed`, `board` (rig.py), and

    start      true: strikes pad 0 whenever the lamp ready has stood alone for 300 ms
    blind_s    [first, every]: strikes pad 0 so long after each boot's first acknowledge, and again and again
    moment     "drop" or "lift": whose beginning the athlete answers
    answer_ms  latencies, taken in turn; null is no answer
    second_ms  a second blow so long after each
    step_ms    the near mark is broken so long before each blow, for 150 ms
    back_ms    {attack: ms}: that attack's blow is told only after the near mark came back, so much later by its stamp
    legs       partner's legs, one for each time the partner's lamp (lamp 4) is lit: [[ms after it, gate, broken], ...], of
               gates "low" and "hip"; a blow may stand among them: [ms, "blow"]
    noise_every_s   frames of unknown types and unknown events, one of each so often
    faults     [{"at": "leave" | "attack" | "end", "nth": 2, "ms": 100, "do": "reset", ...}]: after the host's first
               acknowledge, the nth attack's toe-off, the nth attack's end. What each does: see the class Faults

The log: boot, leave, event (lamps among them), blow (with the lamp change it answers), gate, attack, fault; at the end sent
and lateness.
"""
import json
import os
import select
import signal
import sys

import wire
from clock import true_now
from line import Line
from rig import MS, SECOND, Rig
from wire import TICKS_MS, u16

FOOT, HIP, HEAD, READY, PARTNER = 1, 2, 4, 8, 16
LEG_GATES = {"low": 4, "hip": 5, "hands": 6}
TRY_AGAIN_S = 12  # longer than any wait of the drills here


class Athlete:
    """Sees the lamps, strikes and steps."""

    def __init__(self, rig, script):
        self.rig, self.script = rig, script
        self.answers = script.get("answer_ms", [120])
        self.answered = 0
        self.deaf_until = 0
        self.attack_runs = False
        self.attacks = 0
        self.legs = 0
        self.seen_ns = 0
        self.on_attack = self.on_end = lambda nth, true_ns: None

    def leave_given(self):
        self.seen_ns = true_now()
        if self.script.get("start", True) and self.rig.lamps:
            self.try_again()
        for first, every in [self.script[key] for key in ("blind_s",) if key in self.script]:
            self.rig.at(true_now() + int(first * SECOND), lambda: self.strike_blindly(every))

    def try_again(self):
        """The lamp ready may have been refused, on a machine with too much to do: nobody waits for ever."""
        if true_now() - self.seen_ns > TRY_AGAIN_S * SECOND and not (self.rig.orders or self.rig.lit or self.rig.lamp_fault):
            self.blow(true_now(), None)
            self.seen_ns = true_now()
        self.rig.at(true_now() + SECOND, self.try_again)

    def strike_blindly(self, every):
        self.blow(true_now(), None)
        self.rig.at(true_now() + int(every * SECOND), lambda: self.strike_blindly(every))

    def lamps_changed(self, before, lit, true_ns):
        self.seen_ns = true_ns
        if lit & ~before & PARTNER and self.legs < len(self.script.get("legs", [])):
            self.kick(self.script["legs"][self.legs], true_ns)
        before, lit = before & ~PARTNER, lit & ~PARTNER  # the partner's own: the athlete does not see it
        if lit == READY and self.script.get("start", True):
            self.rig.at(true_ns + 300 * MS, lambda: self.start_if_ready(true_ns))
        if before == 0 and lit == FOOT:
            self.attack_runs = True
            self.attacks += 1
            self.rig.write("attack", true_ns, nth=self.attacks)
            self.on_attack(self.attacks, true_ns)
        moment = {"lift": (0, FOOT), "drop": (HIP, FOOT)}[self.script.get("moment", "drop")]
        if self.attack_runs and (before, lit) == moment and self.answers:
            ms = self.answers[self.answered % len(self.answers)]
            self.answered += 1
            if ms is not None:
                self.answer(true_ns + round(ms * MS), true_ns)
        if self.attack_runs and lit == 0:
            self.attack_runs = False
            self.on_end(self.attacks, true_ns)

    def kick(self, leg, cued_ns):
        self.legs += 1
        for ms, what, *broken in leg:
            at = cued_ns + round(ms * MS)
            if what == "blow":
                self.rig.at(at, lambda at=at: self.blow(at, None))
            else:
                self.rig.at(at, lambda at=at, what=what, broken=broken: self.gate(LEG_GATES[what], broken[0], at))

    def start_if_ready(self, since):
        if self.rig.lit == READY and not self.rig.orders:
            self.blow(true_now(), None)
            self.rig.at(true_now() + 2 * SECOND, lambda: self.start_if_ready(since))

    def answer(self, true_ns, seen_ns):
        step = round(self.script.get("step_ms", 0) * MS)
        back = self.script.get("back_ms", {}).get(str(self.attacks), 0)
        nth = self.attacks
        if step:
            self.rig.at(true_ns - step, lambda: self.gate(0, True, true_ns - step))
        restored = true_ns + (round(back * MS) if back else 70 * MS)
        if step or back:
            self.rig.at(restored, lambda: self.gate(0, False, restored))
        # The agenda keeps the order of what is due together: the blow is told behind the gate.
        self.rig.at(restored if back else true_ns, lambda: self.blow(true_ns, seen_ns, nth=nth, hold=not back))
        if "second_ms" in self.script:
            second = true_ns + round(self.script["second_ms"] * MS)
            self.rig.at(second, lambda: self.blow(second, seen_ns, nth=nth, second=True))

    def blow(self, true_ns, seen_ns, pad=0, peak=640, hold=True, **truth):
        """Lands at `true_ns`; told once the peak has been searched."""
        if true_ns < self.deaf_until:
            return
        self.deaf_until = true_ns + self.rig.settings[3, pad] * MS
        wait = max(self.rig.settings[2, pad] * MS // 10, self.rig.settings[4, 0] * MS) if hold else 0
        stamp, boot = self.rig.stamp(true_ns), self.rig.boot_id
        self.rig.write("blow", true_ns, seen_ns=seen_ns, pad=pad, peak=peak, stamp=stamp, boot=boot, **truth)
        tell = lambda: self.rig.event(wire.PAD_HIT, stamp, bytes([pad]) + u16(peak) + b"\0", at_ns=true_ns)
        self.rig.at(true_ns + wait, tell) if wait else tell()

    def gate(self, index, broken, true_ns):
        if bool(self.rig.broken >> index & 1) == broken:
            return
        self.rig.broken ^= 1 << index
        self.rig.write("gate", true_ns, gate=index, broken=broken)
        self.rig.event(wire.GATE_BROKEN if broken else wire.GATE_RESTORED, self.rig.stamp(true_ns), bytes([index]), at_ns=true_ns)


class Faults:
    """What a script can do to a rig. Each method is a fault's name; what it did is in the log."""

    def __init__(self, rig, athlete, line, script):
        self.rig, self.athlete, self.line = rig, athlete, line
        self.plan = script.get("faults", [])
        athlete.on_attack = lambda nth, at: self.come("attack", nth, at)
        athlete.on_end = lambda nth, at: self.come("end", nth, at)

    def come(self, moment, nth, true_ns):
        for fault in self.plan:
            if fault["at"] == moment and fault.get("nth", 1) == nth and not fault.get("done"):
                fault["done"] = True
                self.rig.at(true_ns + round(fault.get("ms", 0) * MS), lambda fault=fault: self.do(fault))

    def do(self, fault):
        self.rig.write("fault", **{key: value for key, value in fault.items() if key != "done"},
                       unacknowledged=[n for n in self.rig.kept if wire.is_later(n, self.rig.through)])
        getattr(self, fault["do"])(fault)

    def reset(self, _):
        self.athlete.attack_runs = False
        self.rig.boot()

    def jump(self, fault):
        """The clock runs on from another moment: PROTOCOL.md forbids it."""
        self.rig.clock.born -= round(fault["s"] * SECOND)

    def silence(self, fault):
        self.line.cut = True
        self.rig.at(true_now() + round(fault["s"] * SECOND), self.speak)

    def speak(self):
        self.line.cut = False
        self.rig.write("speaks")

    def away(self, fault):
        """The port is gone for `s`; back `as` "same" or "other": the terminal's name."""
        name = self.line.name
        self.line.close()
        self.line.waiting = b""
        self.rig.at(true_now() + round(fault["s"] * SECOND), lambda: self.back(fault, name))

    def back(self, fault, name):
        if fault["as"] == "other":
            self.line.open(kept_away_from=name)
        elif not self.line.open_again(name):
            if self.line.is_open:
                self.line.close()
            self.rig.at(true_now() + SECOND // 10, lambda: self.back(fault, name))
            return
        self.rig.write("back", name=self.line.name)

    def lamps(self, fault):
        self.rig.lamp_fault, self.rig.lamp_late_ns = fault["mode"], round(fault.get("late_ms", 0) * MS)
        self.rig.held = []

    def odd(self, fault):
        """Events whose values can't be: of each [kind, bytes in hex] one, at this moment."""
        for kind, rest in fault["events"]:
            now = true_now()
            self.rig.event(kind, self.rig.clock.ticks(now), bytes.fromhex(rest), at_ns=now, odd=True)

    def flood(self, fault):
        """`per_s` hits each second on one pad, for `s`; what of it is due is told at once."""
        begin, count, step = true_now(), int(fault["per_s"] * fault["s"]), round(SECOND / fault["per_s"])

        def one(i):
            self.athlete.deaf_until = 0
            at = begin + i * step
            self.athlete.blow(at, None, pad=fault.get("pad", 2), peak=300, hold=False, flood=True)
            if i + 1 < count:
                self.rig.at(at + step, lambda: one(i + 1))

        one(0)


def make_strange_noise(rig, every_ns):
    """A message and an event of types that no version knows yet."""
    unknown = [*range(0x0A, 0x10), *range(0x20, 0x80)]
    rig.send(bytes([rig.chance.choice(unknown)]) + rig.chance.randbytes(rig.chance.randint(0, 31)))
    if rig.leave:
        now = true_now()
        rig.event(rig.chance.randint(0x17, 0x1F), rig.clock.ticks(now), rig.chance.randbytes(rig.chance.randint(0, 18)),
                  at_ns=now, strange=True)
    rig.at(true_now() + every_ns, lambda: make_strange_noise(rig, every_ns))


class Lateness:
    """How late this process came to what was due: says whether the machine could play a rig at all."""

    def __init__(self):
        self.late_ns = []

    def note(self, due, now):
        if due is not None and due <= now:
            self.late_ns.append(now - due)

    def told(self):
        ordered = sorted(self.late_ns) or [0]
        return {"median_ms": ordered[len(ordered) // 2] / 1e6, "tenth_ms": ordered[len(ordered) * 9 // 10] / 1e6,
                "worst_ms": ordered[-1] / 1e6}


def run(rig, line, stopping, lateness):
    while not stopping:
        now = true_now()
        lateness.note(rig.next_due(), now)
        rig.carry_out(now)
        rig.send_events()
        due = rig.next_due()
        wait = 0.05 if due is None else min(0.05, max(0, (due - true_now()) / SECOND))
        if not line.is_open:
            select.select([], [], [], wait)
            continue
        readable, writable, _ = select.select([line.near], [line.near] if line.waiting else [], [], wait)
        if readable:
            payloads = line.payloads()
            received, boot = true_now(), rig.boot_id  # after the read: `received` may be late, never early
            rig.carry_out(received)
            for payload in payloads:
                if rig.boot_id == boot:  # a reset takes with it what it had not read
                    rig.take(payload, received)
        if writable:
            line.push()


def main():
    with open(sys.argv[1]) as file:
        script = json.load(file)
    stopping = []
    for number in (signal.SIGTERM, signal.SIGINT):
        signal.signal(number, lambda *_: stopping.append(True))
    with open(script.get("log", os.devnull), "w", buffering=1) as log:
        line = Line(script.get("link"), script.get("seed", 1), script.get("lose", 0), script.get("twice", 0),
                    script.get("garbage", 0))
        rig = Rig(line, log, script)
        athlete = Athlete(rig, script)
        faults = Faults(rig, athlete, line, script)
        once, lateness = [], Lateness()

        def leave_given():
            athlete.leave_given()
            if not once:
                once.append(True)
                faults.come("leave", 1, true_now())

        rig.on_leave, rig.on_lamps = leave_given, athlete.lamps_changed
        if "noise_every_s" in script:
            make_strange_noise(rig, round(script["noise_every_s"] * SECOND))
        print(script.get("link") or line.name, flush=True)
        try:
            run(rig, line, stopping, lateness)
        finally:
            rig.write("sent", **line.sent)
            rig.write("lateness", **lateness.told())


if __name__ == "__main__":
    main()
