"""What stands around the browser: a room with a store, the rig's process, the evening as a process that can be killed,
and a network that can be taken away. Everything stays on the loopback and in a temporary folder."""
import collections
import os
import pathlib
import re
import select
import shutil
import socket
import subprocess
import tempfile
import threading
import time

ATHLETES = ["Heron", "Curlew", "Rook"]
PARTNER_DRILL = """title = "A partner kicks"
source = "partner"
sets = 3
reps = 4
level = "beginner"
wait_minimum_s = 1
wait_extra_s = 0.3
[[attack]]
kind = "single"
moment = "drop"
"""
TAPPED_DRILL = """title = "Tapped"
start = "tapped"
sets = 3
reps = 3
level = "beginner"
wait_minimum_s = 1
[[attack]]
kind = "single"
moment = "drop"
"""
PLAN = """[[block]]
title = "a partner kicks"
kind = "rounds"
drill = "partner"
sets = 3
minutes = 45
[[block]]
title = "the coach taps"
kind = "rounds"
drill = "tapped"
sets = 3
minutes = 15
"""


class Room:
    """A home of its own, with three athletes, two short drills and a plan."""

    def __init__(self, program):
        self.program = program
        self.folder = pathlib.Path(tempfile.mkdtemp(prefix="breakstep-browser-"))
        self.environment = {**os.environ, "HOME": str(self.folder), "SDL_VIDEODRIVER": "dummy", "SDL_AUDIODRIVER": "dummy"}
        for name in ("XDG_CONFIG_HOME", "XDG_DATA_HOME", "XDG_CACHE_HOME", "BREAKSTEP_CONFIG"):
            self.environment.pop(name, None)
        own = self.folder / ".config/breakstep/drills"
        own.mkdir(parents=True)
        (own / "partner.toml").write_text(PARTNER_DRILL)
        (own / "tapped.toml").write_text(TAPPED_DRILL)
        self.plan = self.folder / "plan.toml"
        self.plan.write_text(PLAN)
        self.store = self.folder / "e.db"
        for name in ATHLETES:
            self.run("athletes", "add", name, "--consent-on", "2026-01-01", "--consent-by", "the club", "--store", str(self.store))

    def run(self, *words, given=None):
        done = subprocess.run([self.program, *words], env=self.environment, input=given, capture_output=True, text=True, timeout=120, cwd=self.folder)
        if done.returncode != 0:
            raise RuntimeError(f"{' '.join(words)}: {done.stderr}")
        return done.stdout

    def remove(self):
        shutil.rmtree(self.folder, ignore_errors=True)


class Lines:
    """A process that is spoken with in lines; `heard` is called with each of its own, on a thread."""

    def __init__(self, words, environment, heard=None):
        self.process = subprocess.Popen(words, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, bufsize=1, env=environment)
        self.lines, self.grown = [], threading.Condition()
        self.heard = heard
        self.reader = threading.Thread(target=self._read, daemon=True)
        self.reader.start()

    def _read(self):
        for line in self.process.stdout:
            line = line.rstrip("\n")
            if self.heard:
                self.heard(line)
            with self.grown:
                self.lines.append(line)
                self.grown.notify_all()

    def type(self, text):
        try:
            self.process.stdin.write(text)
            self.process.stdin.flush()
        except (BrokenPipeError, ValueError):
            pass

    def find(self, pattern, after=0, within=60):
        """The first line at or after number `after` that matches, and its number."""
        until = time.monotonic() + within
        with self.grown:
            while True:
                for number in range(after, len(self.lines)):
                    found = re.search(pattern, self.lines[number])
                    if found:
                        return found, number
                left = until - time.monotonic()
                if left <= 0:
                    raise RuntimeError(f"nothing like /{pattern}/ was said in {within} s; last: {self.lines[-6:]}")
                self.grown.wait(left)

    def kill(self):
        if self.process.poll() is None:
            self.process.kill()
        self.process.wait()
        self.reader.join(10)


class Rig(Lines):
    def __init__(self, program, seed):
        self.contacts = []
        super().__init__([program, str(seed)], os.environ, self._take)
        self.path = self.find(r"^rig at (.+)$")[0].group(1)

    def _take(self, line):
        if line.startswith("contact "):
            self.contacts.append(float(line.split()[1]))


class Evening(Lines):
    """`breakstep evening --desk`; its lines go on to the rig's hall."""

    def __init__(self, room, rig, port):
        words = [room.program, "evening", "--headless", "--desk", "--port", str(port), "--store", str(room.store), "--plan", str(room.plan), "--rig", rig.path, "--seed", "7"]
        super().__init__(words, room.environment, lambda line: rig.type(line + "\n"))

    def digits(self, ask):
        """The digits that are told next; they are asked for, or (at the start) told by themselves."""
        after = len(self.lines) if ask else 0
        if ask:
            self.type("q")
        found, _ = self.find(r"good once, for ten minutes: (\d{3}) (\d{3})", after)
        return found.group(1) + found.group(2)


def free_port():
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


class Network:
    """What carries a phone's bytes to the desk: a listener at 127.0.0.2, which may be cut. Then every line is reset, and
    nobody is let through until it is mended."""

    def __init__(self, port):
        self.port = port
        self.up = True
        self.pairs = []
        self.lock = threading.Lock()
        self.listener = socket.create_server(("127.0.0.2", port), backlog=64)
        threading.Thread(target=self._accept, daemon=True).start()

    def _accept(self):
        while True:
            try:
                near, _ = self.listener.accept()
            except OSError:
                return
            if not self.up:
                self._reset(near)
                continue
            try:
                far = socket.create_connection(("127.0.0.1", self.port), 5)
            except OSError:
                self._reset(near)
                continue
            with self.lock:
                self.pairs.append((near, far))
            threading.Thread(target=self._carry, args=(near, far), daemon=True).start()

    @staticmethod
    def _reset(one):
        import struct
        try:
            one.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, struct.pack("ii", 1, 0))
        except OSError:
            pass
        one.close()

    def _carry(self, near, far):
        other = {near: far, far: near}
        try:
            for each in other:
                each.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
            while True:
                ready, _, _ = select.select([near, far], [], [], 60)
                for each in ready:
                    data = each.recv(65536)
                    if not data:
                        return
                    other[each].sendall(data)
        except (OSError, ValueError):
            pass
        finally:
            for each in (near, far):
                each.close()

    def cut(self):
        self.up = False
        with self.lock:
            gone, self.pairs = self.pairs, []
        for near, far in gone:
            for each in (near, far):
                try:
                    each.shutdown(socket.SHUT_RDWR)
                except OSError:
                    pass

    def mend(self):
        self.up = True

    def close(self):
        self.cut()
        self.listener.close()


class Told:
    """Checks, counted; each is said as it is made, and what failed once more at the end."""

    def __init__(self):
        self.passed, self.failed, self.skipped = 0, [], []

    def check(self, holds, words, figure=""):
        said = f"{words}{': ' + str(figure) if figure != '' else ''}"
        print(f"  {'ok    ' if holds else 'FAILED'} {said}", flush=True)
        if holds:
            self.passed += 1
        else:
            self.failed.append(said)
        return holds

    def skip(self, words):
        print(f"  SKIPPED {words}", flush=True)
        self.skipped.append(words)

    def end(self):
        for each in self.failed:
            print(f"failed: {each}")
        for each in self.skipped:
            print(f"NOT CHECKED: {each}")
        print(f"{self.passed} passed, {len(self.failed)} failed{f', {len(self.skipped)} NOT CHECKED' if self.skipped else ''}", flush=True)
        return 1 if self.failed or not self.passed else 0


Figures = collections.namedtuple("Figures", "least median most count")


def figures(values):
    ordered = sorted(values)
    return Figures(ordered[0], ordered[len(ordered) // 2], ordered[-1], len(ordered))
