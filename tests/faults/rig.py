"""A rig that keeps to PROTOCOL.md: greeting, clock, events that none lose, lamps, settings. It knows nothing of athletes
or faults; play.py moves it, and sets the few switches below that make it break its promises.

Times: everything happens at a true time (clock.true_now()) and is stamped in ticks of the rig's own clock, off by at
most `noise` ticks where the channel's stated bound allows that. The rig is modelled as hardware: a lamp changes at its
ordered tick and a blow lands when it was planned, however late this process gets to run; it never says by a ping_reply
that a moment has passed before it has told what happened until then.
"""
import collections
import heapq
import json
import random

import wire
from clock import Clock, true_now
from wire import TICKS_MS, u16, u32, u48

MS = 1_000_000
SECOND = 1_000 * MS
ROOM = 8_192  # events kept
SETTINGS = {1: ("pads", 1, 1023, 60), 2: ("pads", 5, 200, 50), 3: ("pads", 5, 500, 60), 4: ("one", 1, 20, 5),
            5: ("gates", 0, 500, 20)}


class Rig:
    def __init__(self, line, log, options):
        self.line, self.log = line, log
        self.pads, self.gates = options.get("pads", 4), options.get("gates", 5)
        self.lamps, self.syncs = options.get("lamps", 4), options.get("syncs", 0)
        self.ppm, self.board = options.get("ppm", 0), options.get("board", 0xFA017)
        self.bound, self.noise = options.get("bound", 1), options.get("noise", 0)
        self.minor, self.appended = options.get("minor", 0), bytes(options.get("appended", 0))
        self.chance = random.Random(options.get("seed", 1))
        self.on_leave = self.on_lamps = lambda *_: None
        # Broken promises. lamps: "", "late", "hold", "silent" (accepted, never carried out), "deaf" (no answer at all).
        self.lamp_fault, self.lamp_late_ns = "", 0
        self.answers = {wire.HELLO_REQUEST: self.hello_request, wire.PING: self.ping, wire.ACKNOWLEDGE: self.acknowledge,
                        wire.RESEND: self.resend, wire.LAMP_ORDER: self.lamp_order, wire.LAMP_CANCEL: self.lamp_cancel,
                        wire.SETTING_SET: self.setting_set, wire.SETTING_GET: self.setting_get,
                        wire.COUNTERS_REQUEST: self.counters_request, wire.LEVELS: self.levels}
        count = {"pads": self.pads, "gates": self.gates, "one": 1}
        self.settings = {(key, i): first for key, (of, _, _, first) in SETTINGS.items() for i in range(count[of])}
        self.boot()

    # The clock, and what is due when

    def boot(self):
        self.clock = Clock(self.ppm)
        self.boot_id = random.SystemRandom().randrange(1, 2**32)
        self.agenda, self.entries = [], 0
        self.leave, self.newest, self.through = False, 0, 0
        self.kept = collections.OrderedDict()
        self.unsent = collections.deque()
        self.lit = self.broken = 0
        self.orders, self.held = [], []  # orders: (true time, turn, id, affected, lit)
        self.decided = collections.deque(maxlen=16)
        self.levels_on = False
        self.counts = [0] * 7
        self.write("boot", boot=self.boot_id, ppm=self.ppm)
        self.at(true_now(), self.hello_unasked)

    def write(self, what, true_ns=None, **rest):
        self.log.write(json.dumps({"what": what, "true_ns": true_now() if true_ns is None else true_ns, **rest}) + "\n")

    def at(self, true_ns, action):
        self.entries += 1
        heapq.heappush(self.agenda, (true_ns, self.entries, action))

    def next_due(self):
        return min((heap[0][0] for heap in (self.agenda, self.orders) if heap), default=None)

    def carry_out(self, until):
        """Everything that is due until then, in order of time."""
        while True:
            due = self.next_due()
            if due is None or due > until:
                return
            if self.orders and self.orders[0][0] == due:
                self.set_lamps()
            else:
                heapq.heappop(self.agenda)[2]()

    # Sending

    def send(self, payload):
        if self.line.is_stuck():
            self.counts[6] += 1
        else:
            self.line.send(payload)

    def event(self, kind, stamp, rest, **truth):
        """Gives it its number, keeps it and sends it if leave was given. `stamp` in ticks, as it goes out."""
        self.newest = (self.newest + 1) % 65536
        payload = bytes([kind]) + u16(self.newest) + u48(stamp) + rest + self.appended
        if len(self.kept) == ROOM:
            gone, _ = self.kept.popitem(last=False)
            self.counts[3] += wire.is_later(gone, self.through)
        self.kept[self.newest] = payload
        self.write("event", kind=kind, sequence=self.newest, stamp=stamp, boot=self.boot_id, payload=payload.hex(), **truth)
        if self.leave:
            self.unsent.append(payload)
            self.send_events()

    def send_events(self):
        while self.unsent and not self.line.is_stuck():
            self.line.send(self.unsent.popleft())

    def oldest_kept(self):
        return next(iter(self.kept), (self.newest + 1) % 65536)

    def stamp(self, true_ns):
        return max(0, self.clock.nearest(true_ns) + self.chance.randint(-self.noise, self.noise))

    # Greeting

    def hello_unasked(self):
        if not self.leave:
            self.greet()
            self.at(true_now() + SECOND // 2, self.hello_unasked)

    def greet(self):
        self.send(bytes([wire.HELLO, 1, self.minor]) + self.board.to_bytes(8, "little") + u32(self.boot_id)
                  + bytes([self.pads, self.gates, self.lamps, self.syncs]) + u16(self.newest) + u16(self.oldest_kept()))
        for kind, number in ((wire.PAD, self.pads), (wire.GATE, self.gates), (wire.LAMP, self.lamps), (wire.SYNC, self.syncs)):
            for i in range(number):
                self.send(bytes([wire.CHANNEL, kind, i, i, 0]) + u16(self.bound))
        now = true_now()
        self.carry_out(now)
        self.send(bytes([wire.SNAPSHOT]) + u48(self.clock.ticks(now)) + bytes([self.broken, self.lit]) + u16(self.newest))

    def hello_request(self, _, __):
        self.levels_on = False
        self.greet()

    # What comes from the host

    def take(self, payload, received_ns):
        self.answers[payload[0]](payload, received_ns)

    def is_ours(self, payload):
        return int.from_bytes(payload[1:5], "little") == self.boot_id

    def ping(self, payload, received_ns):
        def reply():
            now = true_now()
            self.carry_out(now)
            self.send_events()
            self.send(bytes([wire.PING_REPLY]) + payload[1:3] + u32(self.boot_id) + u48(self.clock.ticks(received_ns) + 1)
                      + u48(self.clock.ticks(now)) + u16(self.newest))

        self.at(received_ns + self.chance.randrange(2 * MS), reply)

    def acknowledge(self, payload, _):
        if not self.is_ours(payload):
            return
        through = int.from_bytes(payload[5:7], "little")
        if not self.leave:
            self.leave = True
            self.write("leave", boot=self.boot_id)
            self.on_leave()
        if wire.is_later(through, self.newest) or wire.is_later(self.oldest_kept(), (through + 1) % 65536):
            return
        self.through = through
        while self.kept and not wire.is_later(self.oldest_kept(), through):
            self.kept.popitem(last=False)

    def resend(self, payload, _):
        if not self.is_ours(payload) or not self.leave:
            return
        first = int.from_bytes(payload[5:7], "little")
        asked = [(first + i) % 65536 for i in range(payload[7])]
        gone = [number for number in asked if wire.is_later(self.oldest_kept(), number)]
        if gone:
            self.send(bytes([wire.OVERWRITTEN]) + u16(gone[0]) + u16(gone[-1]))
        self.send_events()
        for number in asked:
            if number in self.kept:
                self.counts[2] += 1
                self.send(self.kept[number])

    # Lamps

    def lamp_order(self, payload, _):
        order, at = int.from_bytes(payload[5:7], "little"), int.from_bytes(payload[7:13], "little")
        affected, lit = payload[13], payload[14]
        if not self.is_ours(payload) or order in (0, 65535) or self.lamp_fault == "deaf":
            return
        known = dict(self.decided)
        if order in known or any(order == waiting[2] for waiting in self.orders):
            if known.get(order, True):
                self.send(bytes([wire.LAMP_ACCEPTED]) + u32(self.boot_id) + u16(order))
            return
        now = true_now()
        ahead = at - self.clock.ticks(now)
        reason = (4 if affected >> self.lamps else 1 if ahead <= 0 else 2 if ahead > 60_000 * TICKS_MS
                  else 3 if len(self.orders) >= 32 else 0)
        self.decided.append((order, reason == 0))
        if reason:
            self.event(wire.LAMP_REFUSED, self.clock.ticks(now), u16(order) + bytes([reason]), reason=reason)
            return
        self.entries += 1
        heapq.heappush(self.orders, (self.clock.true(at), self.entries, order, affected, lit))
        self.send(bytes([wire.LAMP_ACCEPTED]) + u32(self.boot_id) + u16(order))

    def set_lamps(self):
        planned, turn, order, affected, lit = heapq.heappop(self.orders)
        if self.lamp_fault == "silent":
            self.write("lamps_not_set", planned, order=order)
        elif self.lamp_fault == "late" and order not in self.held:
            self.held.append(order)
            heapq.heappush(self.orders, (planned + self.lamp_late_ns, turn, order, affected, lit))
        elif self.lamp_fault == "hold":
            self.held.append((order, affected, lit))
            if len(self.held) == 1:
                self.at(planned + self.lamp_late_ns, lambda: self.release(planned + self.lamp_late_ns))
        else:
            self.change_lamps(planned, order, affected, lit)

    def release(self, true_ns):
        held, self.held, self.lamp_fault = self.held, [], ""
        for order, affected, lit in held:
            self.change_lamps(true_ns, order, affected, lit)

    def change_lamps(self, true_ns, order, affected, lit):
        before, self.lit = self.lit, (self.lit & ~affected) | (lit & affected)
        self.event(wire.LAMPS_SET, self.stamp(true_ns), u16(order) + bytes([self.lit]), at_ns=true_ns, lit=self.lit)
        self.on_lamps(before, self.lit, true_ns)

    def lamp_cancel(self, payload, _):
        order = int.from_bytes(payload[5:7], "little")
        if not self.is_ours(payload):
            return
        hit = [waiting for waiting in sorted(self.orders) if order in (waiting[2], 65535)]
        for waiting in hit:
            self.orders.remove(waiting)
            self.event(wire.LAMP_CANCELLED, self.clock.ticks(true_now()), u16(waiting[2]))
        heapq.heapify(self.orders)

    # Settings, counters, levels

    def setting_set(self, payload, _):
        key, index, value = payload[1], payload[2], int.from_bytes(payload[3:5], "little")
        if (key, index) not in self.settings:
            return self.setting_value(key, index, 1)
        _, low, high, _ = SETTINGS[key]
        if low <= value <= high:
            self.settings[key, index] = value
        self.setting_value(key, index, 0 if low <= value <= high else 2)

    def setting_get(self, payload, _):
        self.setting_value(payload[1], payload[2], 0 if (payload[1], payload[2]) in self.settings else 1)

    def setting_value(self, key, index, status):
        self.send(bytes([wire.SETTING_VALUE, key, index, status]) + u16(self.settings.get((key, index), 0)))

    def counters_request(self, _, __):
        self.counts[0] = self.line.receiver.damaged
        self.send(bytes([wire.COUNTERS]) + b"".join(u16(min(count, 65535)) for count in self.counts))

    def levels(self, payload, _):
        was_on, self.levels_on = self.levels_on, payload[1] == 1
        if self.levels_on and not was_on:
            self.at(true_now() + 50 * MS, self.send_levels)

    def send_levels(self):
        if self.levels_on:
            for pad in range(self.pads):
                self.send(bytes([wire.PAD_LEVEL]) + u48(self.clock.ticks(true_now())) + bytes([pad]) + u16(5) + u16(3))
            self.at(true_now() + 50 * MS, self.send_levels)
