"""The line: a pseudo-terminal under a name of the rig's choice, with everything that can go wrong on a line.

What can't be written at once waits. `lose` is the share of bytes that vanish, both ways; every `twice`-th frame is
sent twice; before a frame there is garbage with the chance `garbage`. While `cut` no byte passes either way, though
the port stays open: a rig that hangs, or a cable with a broken wire.
"""
import os
import random
import tty

import wire


class Line:
    STUCK = 2_000  # bytes that wait: anything but an event is dropped from here on

    def __init__(self, link, seed, lose=0.0, twice=0, garbage=0.0):
        self.link = link
        self.chance = random.Random(seed)
        self.lose, self.twice, self.garbage = lose, twice, garbage
        self.receiver = wire.Receiver()
        self.cut = False
        self.sent = {"frames": 0, "bytes": 0, "bytes_lost": 0, "twice": 0, "garbage_bytes": 0, "dropped": 0}
        self.far = self.near = None
        self.open()

    def open(self, kept_away_from=None):
        """`kept_away_from`: a terminal's name that must not be given again."""
        aside = []
        while True:
            near, far = os.openpty()
            if os.ttyname(far) != kept_away_from:
                break
            aside += [near, far]
        for each in aside:
            os.close(each)
        self.near, self.far = near, far  # the far end is held, so that a host may leave and come back
        tty.setraw(far)
        os.set_blocking(near, False)
        self.waiting = b""
        self.receiver = wire.Receiver()
        self.name = os.ttyname(far)
        if self.link:
            os.symlink(self.name, self.link + ".new")
            os.rename(self.link + ".new", self.link)

    def open_again(self, name):
        """Under exactly this terminal's name; False if another program has taken it."""
        tried = []
        while True:
            near, far = os.openpty()
            found = os.ttyname(far)
            os.close(far)
            os.close(near) if found == name else tried.append(near)
            if found == name or len(tried) > 200:
                break
        if found == name:
            self.open()
        for each in tried:
            os.close(each)
        return found == name and self.name == name

    def close(self):
        os.close(self.near)
        os.close(self.far)
        self.near = self.far = None
        if self.link:
            os.unlink(self.link)

    @property
    def is_open(self):
        return self.near is not None

    def is_stuck(self):
        return len(self.waiting) > self.STUCK

    def send(self, payload):
        if self.cut or not self.is_open:
            self.sent["dropped"] += 1
            return
        data = wire.frame(payload)
        self.sent["frames"] += 1
        if self.twice and self.sent["frames"] % self.twice == 0:
            self.sent["twice"] += 1
            data += data
        if self.garbage and self.chance.random() < self.garbage:
            noise = self.chance.randbytes(self.chance.randint(1, 60))
            noise += b"\0" if self.chance.random() < 0.5 else b""
            self.sent["garbage_bytes"] += len(noise)
            data = noise + data
        if self.lose:
            whole = len(data)
            data = bytes(byte for byte in data if self.chance.random() >= self.lose)
            self.sent["bytes_lost"] += whole - len(data)
        self.sent["bytes"] += len(data)
        self.waiting += data
        self.push()

    def push(self):
        try:
            while self.waiting and self.is_open:
                self.waiting = self.waiting[os.write(self.near, self.waiting):]
        except BlockingIOError:
            pass

    def payloads(self):
        try:
            data = os.read(self.near, 65536)
        except BlockingIOError:
            return []
        if self.cut:
            return []
        if self.lose:
            data = bytes(byte for byte in data if self.chance.random() >= self.lose)
        return list(self.receiver.take(data))
