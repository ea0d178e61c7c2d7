#!/usr/bin/env python3
"""A rig by a stranger: written from the words of firmware-protocol/PROTOCOL.md, without a line of this project's code.

It opens a pseudo-terminal, prints its path on stdout and speaks the protocol until it is stopped. Only the standard
library. Four pads, five gates, four lamps; what strikes them is told on the command line:

    --strike "foot:250"            250 ms after the foot lamp alone has been lit, a blow on pad 0
    --strike "hip>foot:90,-,120@2" only if the hip lamp alone was lit before; the times are taken in turn, `-` is no
                                   blow; the blow is on pad 2. `dark` is no lamp, `foot+hip` is two
    --strike-at 1.5                a blow 1.5 s after the host first acknowledged
    --again 4                      a blow whenever nothing but the lamp ready has been lit, and no order has waited, for 4 s:
                                   so a start that was lost (the host lost the link while it counted) is given again
    --step 80                      the near mark is broken 80 ms before each blow, for 250 ms
    --truth FILE                   every blow as a JSON line: its time in ticks, and the time of the lamps it answers
    --port /dev/ttyS9             speaks on this serial port instead, and opens it anew whenever it was unplugged
    --hold 5                       a ping's reply waits up to 5 ms, not 2: behind a line that moves bytes every 4 ms only
    --damage 0.03 --seed 5         3 in 100 frames to the host arrive with one bit turned

The signal USR1 resets the board.
"""
import argparse
import collections
import heapq
import json
import os
import random
import select
import signal
import struct
import sys
import termios
import time
import tty
import zlib

TICK_NS = 500
SECOND = 2_000_000
MILLISECOND = 2_000
LAMPS = {"foot": 1, "hip": 2, "head": 4, "ready": 8, "dark": 0}
PADS, GATES, LAMP_COUNT = 4, 5, 4
ROOM_FOR_EVENTS = 64
ROOM_FOR_ORDERS = 32
# key: (number of indices, lowest, highest, first value)
SETTINGS = {1: (PADS, 1, 1023, 60), 2: (PADS, 5, 200, 50), 3: (PADS, 5, 500, 60), 4: (1, 1, 20, 5), 5: (GATES, 0, 500, 20)}


def u48(value):
    return value.to_bytes(6, "little")


def later(a, b):
    """Of two sequence numbers."""
    return 1 <= (a - b) % 65536 <= 32767


def framed(payload):
    plain = payload + struct.pack("<I", zlib.crc32(payload))
    return b"".join(bytes([len(piece) + 1]) + piece for piece in plain.split(b"\0")) + b"\0"


def unframed(stuffed):
    """The payload, or None if the frame is damaged."""
    if len(stuffed) > 37:
        return None
    pieces, at = [], 0
    while at < len(stuffed):
        code = stuffed[at]
        piece = stuffed[at + 1:at + code]
        if len(piece) != code - 1:
            return None
        pieces.append(piece)
        at += code
    plain = b"\0".join(pieces)
    if len(plain) < 5 or zlib.crc32(plain[:-4]) != struct.unpack("<I", plain[-4:])[0]:
        return None
    return plain[:-4]


class Line:
    """The pseudo-terminal, or a serial port. What can't be written at once waits; a line that is stuck for long takes events only."""

    def __init__(self, damage, seed, port):
        self.port = port
        if port:
            self.path = port
            self.open_port()
        else:
            self.rig_end, self.host_end = os.openpty()  # the host's end is held, so that a host may leave and come back
            tty.setraw(self.host_end)
            os.set_blocking(self.rig_end, False)
            self.path = os.ttyname(self.host_end)
        self.waiting = b""
        self.collected = b""
        self.damage = damage
        self.chance = random.Random(seed)

    def open_port(self):
        while True:
            try:
                self.rig_end = os.open(self.port, os.O_RDWR | os.O_NOCTTY | os.O_NONBLOCK)
                tty.setraw(self.rig_end)
                return
            except (OSError, termios.error):
                time.sleep(0.05)

    def unplugged(self):
        os.close(self.rig_end)
        self.waiting = self.collected = b""
        self.open_port()

    def stuck(self):
        return len(self.waiting) > 2000

    def send(self, payload):
        frame = bytearray(framed(payload))
        if self.chance.random() < self.damage:
            frame[self.chance.randrange(len(frame))] ^= 1 << self.chance.randrange(8)
        self.waiting += bytes(frame)
        self.push()

    def push(self):
        try:
            while self.waiting:
                self.waiting = self.waiting[os.write(self.rig_end, self.waiting):]
        except BlockingIOError:
            pass
        except OSError:
            if not self.port:
                raise
            self.unplugged()

    def frames(self):
        """Frames that have come in, still stuffed; empty ones left out."""
        try:
            came = os.read(self.rig_end, 4096)
        except BlockingIOError:
            return []
        except OSError:
            if not self.port:
                raise
            came = b""
        if not came and self.port:
            self.unplugged()
        self.collected += came
        *whole, self.collected = self.collected.split(b"\0")
        self.collected = self.collected[:38]  # too long already: no need to keep more of it
        return [frame for frame in whole if frame]


class Strikes:
    """When to strike, as the command line says."""

    def __init__(self, texts):
        self.rules = []
        for text in texts:
            head, _, pad = text.partition("@")
            lamps, _, times = head.partition(":")
            before, _, now = lamps.rpartition(">")
            self.rules.append({"before": self.lamps(before) if before else None, "now": self.lamps(now), "turn": 0,
                               "pad": int(pad or 0), "ms": [None if ms == "-" else float(ms) for ms in times.split(",")]})

    @staticmethod
    def lamps(words):
        return sum(LAMPS[word] for word in words.split("+"))

    def after(self, before, now):
        """(pad, ms) for each blow that this change of the lamps calls for."""
        for rule in self.rules:
            if rule["now"] == now and before != now and rule["before"] in (None, before):
                ms = rule["ms"][rule["turn"] % len(rule["ms"])]
                rule["turn"] += 1
                if ms is not None:
                    yield rule["pad"], ms


class Rig:
    def __init__(self, arguments, line):
        self.arguments = arguments
        self.line = line
        self.truth = open(arguments.truth, "w") if arguments.truth else None
        self.board = 0x57A4_6E20_0000_0000 | arguments.board
        self.settings = {(key, index): first for key, (count, _, _, first) in SETTINGS.items() for index in range(count)}
        self.answers = {0x80: self.hello_request, 0x81: self.ping, 0x82: self.acknowledge, 0x83: self.resend,
                        0x84: self.lamp_order, 0x85: self.lamp_cancel, 0x86: self.setting_set, 0x87: self.setting_get,
                        0x88: self.counters_request, 0x89: self.levels}
        self.needed = {0x80: 1, 0x81: 3, 0x82: 7, 0x83: 8, 0x84: 15, 0x85: 7, 0x86: 5, 0x87: 3, 0x88: 1, 0x89: 2}
        self.boot()

    # The clock, and what is due when

    def boot(self):
        self.born = time.monotonic_ns()
        self.boot_id = random.SystemRandom().randrange(1, 2**32)
        self.agenda, self.entries = [], 0
        self.leave = False
        self.newest = 0
        self.kept = collections.OrderedDict()  # sequence: payload
        self.acknowledged_to = 0
        self.unsent = collections.deque()
        self.lit = 0
        self.broken = 0
        self.orders = []  # (at, turn, id, affected, lit), soonest first
        self.turn = 0
        self.decided = collections.deque(maxlen=16)  # (id, accepted)
        self.deaf_until = [0] * PADS
        self.levels_on = False
        self.counts = [0] * 7
        self.quiet_since = 0
        self.strikes = Strikes(self.arguments.strike)
        self.at(0, self.hello_unasked)

    def now(self):
        return (time.monotonic_ns() - self.born) // TICK_NS

    def at(self, ticks, action):
        self.entries += 1
        heapq.heappush(self.agenda, (ticks, self.entries, action))

    def next_due(self):
        due = [self.agenda[0][0]] if self.agenda else []
        if self.orders:
            due.append(self.orders[0][0])
        return min(due, default=None)

    def carry_out_what_is_due(self):
        while self.orders and self.orders[0][0] <= self.now():
            self.set_lamps()
        while self.agenda and self.agenda[0][0] <= self.now():
            heapq.heappop(self.agenda)[2]()
            while self.orders and self.orders[0][0] <= self.now():
                self.set_lamps()

    # Sending

    def send(self, payload):
        if self.line.stuck():
            self.count(6)
        else:
            self.line.send(payload)

    def event(self, kind, ticks, rest):
        self.newest = (self.newest + 1) % 65536
        if len(self.kept) == ROOM_FOR_EVENTS:
            oldest, _ = self.kept.popitem(last=False)
            if later(oldest, self.acknowledged_to):
                self.count(3)
        self.kept[self.newest] = bytes([kind]) + struct.pack("<H", self.newest) + u48(ticks) + rest
        if self.leave:
            self.unsent.append(self.kept[self.newest])
            self.send_events()

    def send_events(self):
        while self.unsent and not self.line.stuck():
            self.line.send(self.unsent.popleft())

    def count(self, which):
        self.counts[which] = min(self.counts[which] + 1, 65535)

    def oldest_kept(self):
        return next(iter(self.kept), (self.newest + 1) % 65536)

    # Greeting

    def hello_unasked(self):
        if not self.leave:
            self.greet()
            self.at(self.now() + SECOND // 2, self.hello_unasked)

    def greet(self):
        self.send(bytes([0x01, 1, 0]) + struct.pack("<QI", self.board, self.boot_id)
                  + bytes([PADS, GATES, LAMP_COUNT, 0]) + struct.pack("<HH", self.newest, self.oldest_kept()))
        for kind, number, bound in ((1, PADS, 2), (2, GATES, 2), (3, LAMP_COUNT, 200)):
            for index in range(number):
                self.send(bytes([0x02, kind, index, index, 0]) + struct.pack("<H", bound))
        self.send(b"\x03" + u48(self.now()) + bytes([self.broken, self.lit]) + struct.pack("<H", self.newest))

    def hello_request(self, _, __):
        self.levels_on = False
        self.greet()

    # What comes from the host

    def take(self, stuffed, received):
        payload = unframed(stuffed)
        if payload is None:
            self.count(0)
        elif payload[0] in self.answers and len(payload) >= self.needed[payload[0]]:
            self.answers[payload[0]](payload, received)

    def of_this_boot(self, payload):
        return struct.unpack_from("<I", payload, 1)[0] == self.boot_id

    def ping(self, payload, received):
        def reply():
            self.send_events()
            head = b"\x04" + payload[1:3] + struct.pack("<I", self.boot_id) + u48(received)
            self.send(head + u48(self.now()) + struct.pack("<H", self.newest))

        self.at(received + int(random.uniform(0, self.arguments.hold * MILLISECOND)), reply)

    def acknowledge(self, payload, _):
        if not self.of_this_boot(payload):
            return
        through = struct.unpack_from("<H", payload, 5)[0]
        if not self.leave:
            self.leave = True
            for seconds in self.arguments.strike_at:
                self.plan_blow(0, self.now() + int(seconds * SECOND), None)
            if self.arguments.again:
                self.quiet_since = self.now()
                self.at(self.now() + SECOND // 10, self.strike_if_quiet)
        if later(through, self.newest) or later(self.oldest_kept(), (through + 1) % 65536):
            return
        self.acknowledged_to = through
        while self.kept and not later(self.oldest_kept(), through):
            self.kept.popitem(last=False)

    def resend(self, payload, _):
        if not self.of_this_boot(payload) or not self.leave:
            return
        first, count = struct.unpack_from("<HB", payload, 5)
        asked = [(first + i) % 65536 for i in range(count)]
        gone = [sequence for sequence in asked if later(self.oldest_kept(), sequence)]
        if gone:
            self.send(b"\x05" + struct.pack("<HH", gone[0], gone[-1]))
        self.send_events()
        for sequence in asked:
            if sequence in self.kept:
                self.count(2)
                self.send(self.kept[sequence])

    # Lamps

    def lamp_order(self, payload, _):
        order, = struct.unpack_from("<H", payload, 5)
        at, affected, lit = int.from_bytes(payload[7:13], "little"), payload[13], payload[14]
        if not self.of_this_boot(payload) or order in (0, 65535):
            return
        known = dict(self.decided)
        if any(waiting[2] == order for waiting in self.orders) or known.get(order):
            self.accept(order)
        elif order not in known:
            now = self.now()
            reason = (4 if affected >> LAMP_COUNT else 1 if at <= now else 2 if at > now + 60 * SECOND
                      else 3 if len(self.orders) == ROOM_FOR_ORDERS else 0)
            self.decided.append((order, reason == 0))
            if reason:
                self.event(0x15, now, struct.pack("<HB", order, reason))
                return
            self.turn += 1
            heapq.heappush(self.orders, (at, self.turn, order, affected, lit))
            self.accept(order)

    def accept(self, order):
        self.send(b"\x09" + struct.pack("<IH", self.boot_id, order))

    def set_lamps(self):
        _, __, order, affected, lit = heapq.heappop(self.orders)
        before, self.lit = self.lit, (self.lit & ~affected) | (lit & affected)
        changed = self.now()
        self.quiet_since = changed
        self.event(0x14, changed, struct.pack("<HB", order, self.lit))
        for pad, ms in self.strikes.after(before, self.lit):
            self.plan_blow(pad, changed + int(ms * MILLISECOND), changed)

    def lamp_cancel(self, payload, _):
        if not self.of_this_boot(payload):
            return
        order, = struct.unpack_from("<H", payload, 5)
        for waiting in sorted(self.orders):
            if order in (waiting[2], 65535):
                self.orders.remove(waiting)
                self.event(0x16, self.now(), struct.pack("<H", waiting[2]))
        heapq.heapify(self.orders)

    # Pads and gates

    def plan_blow(self, pad, ticks, lamps_changed):
        step = self.arguments.step * MILLISECOND
        if step:
            self.at(max(self.now(), ticks - int(step)), lambda: self.gate(0, True))
            self.at(max(self.now(), ticks - int(step)) + SECOND // 4, lambda: self.gate(0, False))
        self.at(ticks, lambda: self.blow(pad, ticks, lamps_changed))

    def blow(self, pad, ticks, lamps_changed):
        """A blow of level 640 at `ticks`. It is an event once its peak has been searched and no echo can come."""
        if ticks < self.deaf_until[pad]:
            return
        self.quiet_since = ticks
        self.deaf_until[pad] = ticks + self.settings[3, pad] * MILLISECOND
        sure = ticks + max(self.settings[2, pad] * MILLISECOND // 10, self.settings[4, 0] * MILLISECOND)
        self.at(sure, lambda: self.event(0x10, ticks, struct.pack("<BHB", pad, 640, 0)))
        if self.truth:
            self.truth.write(json.dumps({"boot": self.boot_id, "pad": pad, "time": ticks, "lamps": lamps_changed}) + "\n")
            self.truth.flush()

    def gate(self, index, broken):
        if bool(self.broken >> index & 1) != broken:
            self.broken ^= 1 << index
            self.event(0x11 if broken else 0x12, self.now(), bytes([index]))

    def strike_if_quiet(self):
        if self.orders or self.lit & ~LAMPS["ready"]:
            self.quiet_since = self.now()
        elif self.now() - self.quiet_since >= self.arguments.again * SECOND:
            self.plan_blow(0, self.now() + int((self.arguments.step + 1) * MILLISECOND), None)
            self.quiet_since = self.now()
        self.at(self.now() + SECOND // 10, self.strike_if_quiet)

    # Settings, counters, levels

    def setting_set(self, payload, _):
        key, index, value = payload[1], payload[2], struct.unpack_from("<H", payload, 3)[0]
        if (key, index) not in self.settings:
            return self.setting_value(key, index, 1)
        _, lowest, highest, __ = SETTINGS[key]
        if not lowest <= value <= highest:
            return self.setting_value(key, index, 2)
        self.settings[key, index] = value
        return self.setting_value(key, index, 0)

    def setting_get(self, payload, _):
        self.setting_value(payload[1], payload[2], 0 if (payload[1], payload[2]) in self.settings else 1)

    def setting_value(self, key, index, status):
        self.send(bytes([0x08, key, index, status]) + struct.pack("<H", self.settings.get((key, index), 0)))

    def counters_request(self, _, __):
        self.send(b"\x07" + struct.pack("<7H", *self.counts))

    def levels(self, payload, _):
        was_on, self.levels_on = self.levels_on, payload[1] == 1
        if self.levels_on and not was_on:
            self.at(self.now() + 50 * MILLISECOND, self.send_levels)

    def send_levels(self):
        if self.levels_on:
            for pad in range(PADS):
                self.send(b"\x06" + u48(self.now()) + struct.pack("<BHH", pad, 5, 3))
            self.at(self.now() + 50 * MILLISECOND, self.send_levels)


def run(rig, line):
    resets = []
    signal.signal(signal.SIGUSR1, lambda *_: resets.append(True))
    print(line.path, flush=True)
    while True:
        if resets:
            resets.clear()
            rig.boot()
        rig.send_events()
        due = rig.next_due()
        wait = 0.1 if due is None else max(0.0, (due - rig.now()) * TICK_NS / 1e9)
        writing = [line.rig_end] if line.waiting else []
        readable, writable, _ = select.select([line.rig_end], writing, [], min(wait, 0.1))
        if readable:
            frames = line.frames()
            received = rig.now()  # after the read: `received` may be late, never early
            for frame in frames:
                rig.take(frame, received)
        if writable:
            line.push()
        rig.carry_out_what_is_due()


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--board", type=int, default=1, help="which of the stranger's boards this is")
    parser.add_argument("--strike", action="append", default=[], metavar="LAMPS:MS[,MS...][@PAD]")
    parser.add_argument("--strike-at", action="append", type=float, default=[], metavar="SECONDS")
    parser.add_argument("--again", type=float, default=0, metavar="SECONDS")
    parser.add_argument("--step", type=float, default=0, metavar="MS")
    parser.add_argument("--hold", type=float, default=2, metavar="MS")
    parser.add_argument("--port", metavar="PATH")
    parser.add_argument("--truth", metavar="FILE")
    parser.add_argument("--damage", type=float, default=0, metavar="SHARE")
    parser.add_argument("--seed", type=int, default=1)
    arguments = parser.parse_args()
    line = Line(arguments.damage, arguments.seed, arguments.port)
    rig = Rig(arguments, line)
    try:
        run(rig, line)
    except KeyboardInterrupt:
        return 0


if __name__ == "__main__":
    sys.exit(main())
