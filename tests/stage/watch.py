"""Watches the stage's window as a person would: `demo`, or drills by their names, on a virtual screen (Xvfb), sixty looks
a second at its pixels.

Told at the end: borders between views (where a tenth of the screen changed from one look to the next; a picture of the
frame before and after each goes into the folder, to be looked at), how long each view between two borders stood, and how
often the screen as a whole changed its brightness. It fails if the demo fails, if what came between two borders stood
for under three frames (its opening, the first second, left out), or if the mean brightness jumped more than four times (two flashes) in any second. Of drills a
picture every three seconds is kept instead of the borders, and each is left after the seconds given. The standard library
alone.

    watch.py PROGRAM FOLDER [SECONDS [DRILL ...]]
"""
import mmap
import os
import struct
import subprocess
import sys
import tempfile
import time
import zlib

WIDTH, HEIGHT = 1280, 720
LOOK = 1 / 60


def png(path, rows):
    """Rows of RGB bytes as a picture."""
    def chunk(kind, data):
        whole = kind + data
        return struct.pack(">I", len(data)) + whole + struct.pack(">I", zlib.crc32(whole))
    raw = b"".join(b"\0" + row for row in rows)
    with open(path, "wb") as out:
        out.write(b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", struct.pack(">IIBBBBB", WIDTH, HEIGHT, 8, 2, 0, 0, 0))
                  + chunk(b"IDAT", zlib.compress(raw, 1)) + chunk(b"IEND", b""))


class Screen:
    """The virtual screen's own memory, a file of the X window dump format."""

    def __init__(self, path):
        with open(path, "rb") as file:
            self.memory = mmap.mmap(file.fileno(), 0, access=mmap.ACCESS_READ)
        head = struct.unpack(">25I", self.memory[:100])
        self.begin = head[0] + head[19] * 12  # after the header and the colour map
        self.line = head[12]

    def frame(self):
        """All of the screen at one moment."""
        return self.memory[self.begin:self.begin + self.line * HEIGHT]


def grid(frame, line):
    """Green of every 16th pixel of every 12th row: enough to know a view by."""
    return b"".join(frame[y * line + 1:y * line + WIDTH * 4:64] for y in range(6, HEIGHT, 12))


def differing(one, other):
    return sum(abs(a - b) > 24 for a, b in zip(one, other)) / len(one)


def rows_of(frame, line):
    rows = []
    for y in range(HEIGHT):
        row = frame[y * line:y * line + WIDTH * 4]
        rgb = bytearray(WIDTH * 3)
        rgb[0::3], rgb[1::3], rgb[2::3] = row[2::4], row[1::4], row[0::4]
        rows.append(bytes(rgb))
    return rows


def main():
    program, folder = os.path.abspath(sys.argv[1]), sys.argv[2]
    longest = float(sys.argv[3]) if len(sys.argv) > 3 else 240
    drills = sys.argv[4:]
    if not drills:
        return on_a_screen([program, "demo"], lambda screen, demo: watch(screen, demo, longest, Borders(folder)))
    failed = 0
    for name in drills:
        print(f"{name}:", flush=True)
        command = [program, "drill", name, "--rig", "simulated", "--seed", "7", "--store", "watched.db"]
        failed |= on_a_screen(command, lambda screen, run: watch(screen, run, longest, Now_and_then(folder, name)))
    return failed


def on_a_screen(command, look):
    with tempfile.TemporaryDirectory() as place:
        read, write = os.pipe()
        screen = subprocess.Popen(["Xvfb", "-displayfd", str(write), "-screen", "0", f"{WIDTH}x{HEIGHT}x24", "-fbdir",
                                   place, "-nolisten", "tcp"], pass_fds=[write], stderr=subprocess.DEVNULL)
        os.close(write)
        try:
            with os.fdopen(read) as told:
                display = told.readline().strip()
            settings = os.path.join(place, "settings.toml")
            with open(settings, "w", encoding="ascii") as out:
                out.write(f"[stage]\nfullscreen = false\nwidth = {WIDTH}\nheight = {HEIGHT}\n")
            environment = dict(os.environ, DISPLAY=f":{display}", SDL_VIDEODRIVER="x11", SDL_AUDIODRIVER="dummy",
                               HOME=place)
            run = subprocess.Popen(command, env=environment, stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL,
                                   stderr=subprocess.DEVNULL, cwd=place)
            try:
                return look(Screen(os.path.join(place, "Xvfb_screen0")), run)
            finally:
                run.terminate()
                run.wait()
        finally:
            screen.terminate()
            screen.wait()


class Borders:
    """Keeps the pictures before and after each border between views."""
    must_end = True

    def __init__(self, folder):
        self.folder, self.number = folder, 0

    def see(self, _at, line, before, after, border):
        if border:
            self.number += 1
            for name, picture in (("before", before), ("after", after)):
                png(os.path.join(self.folder, f"border-{self.number:03}-{name}.png"), rows_of(picture, line))


class Now_and_then:
    """Keeps a picture every three seconds."""
    must_end = False

    def __init__(self, folder, name):
        self.folder, self.name, self.next, self.number = folder, name, 2.0, 0

    def see(self, at, line, _before, after, _border):
        if at >= self.next:
            png(os.path.join(self.folder, f"{self.name}-{self.number:02}.png"), rows_of(after, line))
            self.number, self.next = self.number + 1, self.next + 3


def watch(screen, run, longest, keeps):
    began = time.monotonic()
    looks, last, last_frame = [], None, None
    borders = []
    while run.poll() is None and time.monotonic() - began < longest:
        at = time.monotonic() - began
        frame = screen.frame()
        now = grid(frame, screen.line)
        part = differing(last, now) if last is not None and now != last else 0
        if part > 0.10:
            borders.append((at, part))
        keeps.see(at, screen.line, last_frame, frame, part > 0.10)
        looks.append((at, sum(now) / len(now)))
        last, last_frame = now, frame
        time.sleep(max(0, began + at + LOOK - time.monotonic()))
    ended = run.poll()
    return judge(looks, borders, ended, ended == 0 or (ended is None and not keeps.must_end))


def judge(looks, borders, ended, well):
    failed = not well
    print(f"ended with {ended}; {len(looks)} looks in {looks[-1][0]:.0f} s, {len(borders)} borders between views")
    # A step of the mean green of .04 and more within three looks is a change of the whole screen's brightness.
    jumps = []
    for (_, before), (at, after) in zip(looks, looks[3:]):
        if abs(after - before) > 0.04 * 255 and (not jumps or at - jumps[-1] > 0.1):
            jumps.append(at)
    most = max((sum(1 for other in jumps if at <= other < at + 1) for at in jumps), default=0)
    print(f"brightness of the whole screen: {len(jumps)} jumps, at most {most} in a second")
    failed = failed or most > 4  # a flash is two of them
    short = []
    for (at, _), (after, _) in zip(borders, borders[1:]):
        if at > 1 and after - at < 0.05:
            short.append((at, after - at))
    print(f"borders closer than three frames (a view that vanished unread): {len(short)} {short[:5]}")
    failed = failed or bool(short)
    print("stood:", ", ".join(f"{after - at:.1f}" for (at, _), (after, _) in zip(borders, borders[1:])))
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
