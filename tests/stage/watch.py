"""Watches the stage's window as a person would: `demo` on a virtual screen (Xvfb), sixty looks a second at its pixels.

Told at the end: borders between views (where a tenth of the screen changed from one look to the next; a picture of the
frame before and after each goes into the folder, to be looked at), how long each view between two borders stood, and how
often the screen as a whole changed its brightness. It fails if the demo fails, if what came between two borders stood
for under three frames, or if the mean brightness jumped more than four times (two flashes) in any second. The standard
library alone.

    watch.py PROGRAM FOLDER [SECONDS]
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
    with tempfile.TemporaryDirectory() as place:
        read, write = os.pipe()
        screen = subprocess.Popen(["Xvfb", "-displayfd", str(write), "-screen", "0", f"{WIDTH}x{HEIGHT}x24", "-fbdir",
                                   place, "-nolisten", "tcp"], pass_fds=[write], stderr=subprocess.DEVNULL)
        try:
            display = os.read(read, 16).decode().strip()
            settings = os.path.join(place, "settings.toml")
            with open(settings, "w", encoding="ascii") as out:
                out.write(f"[stage]\nfullscreen = false\nwidth = {WIDTH}\nheight = {HEIGHT}\n")
            environment = dict(os.environ, DISPLAY=f":{display}", SDL_VIDEODRIVER="x11", SDL_AUDIODRIVER="dummy",
                               HOME=place)
            demo = subprocess.Popen([program, "demo"], env=environment, stdout=subprocess.DEVNULL,
                                    stderr=subprocess.DEVNULL, cwd=place)
            try:
                return watch(Screen(os.path.join(place, "Xvfb_screen0")), demo, folder, longest)
            finally:
                demo.terminate()
                demo.wait()
        finally:
            screen.terminate()
            screen.wait()


def watch(screen, demo, folder, longest):
    began = time.monotonic()
    looks, last, last_frame = [], None, None
    borders = []
    while demo.poll() is None and time.monotonic() - began < longest:
        at = time.monotonic() - began
        frame = screen.frame()
        now = grid(frame, screen.line)
        if last is not None and now != last:
            part = differing(last, now)
            if part > 0.10:
                borders.append((at, part))
                for name, picture in (("before", last_frame), ("after", frame)):
                    png(os.path.join(folder, f"border-{len(borders):03}-{name}.png"), rows_of(picture, screen.line))
        looks.append((at, sum(now) / len(now)))
        last, last_frame = now, frame
        time.sleep(max(0, began + at + LOOK - time.monotonic()))
    ended = demo.poll()
    return judge(looks, borders, ended)


def judge(looks, borders, ended):
    failed = ended != 0
    print(f"demo ended with {ended}; {len(looks)} looks in {looks[-1][0]:.0f} s, {len(borders)} borders between views")
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
        if after - at < 0.05:
            short.append((at, after - at))
    print(f"borders closer than three frames (a view that vanished unread): {len(short)} {short[:5]}")
    failed = failed or bool(short)
    print("stood:", ", ".join(f"{after - at:.1f}" for (at, _), (after, _) in zip(borders, borders[1:])))
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
