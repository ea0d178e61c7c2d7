"""What the cases in guest.py use: the line to machine.py outside, the program as it is typed, the bus, and the two kinds of
adapters with the rigs behind them. Everything waited for has an end.
"""
import array
import contextlib
import fcntl
import glob
import grp
import json
import mmap
import os
import re
import select
import signal
import struct
import subprocess
import termios
import threading
import time

ROOM = "/run/room"
DIALOUT = grp.getgrnam("dialout").gr_gid
SOMEBODY = 65534
HERE = os.path.dirname(os.path.abspath(__file__))


def text_of(path, otherwise=""):
    try:
        with open(path) as file:
            return file.read().strip()
    except OSError:
        return otherwise


def write(path, text):
    with open(path, "w") as file:
        file.write(text)


def until(condition, seconds, what):
    end = time.monotonic() + seconds
    while True:
        value = condition()
        if value:
            return value
        if time.monotonic() > end:
            raise AssertionError(f"{what}: not within {seconds} s")
        time.sleep(0.02)


def check(held, what):
    if not held:
        raise AssertionError(what)


class Outside:
    """machine.py, over a virtual serial line."""

    def __init__(self):
        self.line = open(virtual_port("control"), "r+b", buffering=0)
        self.lock = threading.Lock()

    def __getattr__(self, name):
        def ask(*given):
            with self.lock:
                self.line.write(json.dumps({"ask": name, "with": given}).encode() + b"\n")
                waiting = b""
                while not waiting.endswith(b"\n"):
                    check(select.select([self.line], [], [], 60)[0], f"{name}: no answer from outside")
                    waiting += self.line.read(65536) or b""
            answer = json.loads(waiting)
            check("error" not in answer, f"{name}: {answer.get('error')}")
            return answer["answer"]
        return ask


def virtual_port(name):
    for port in glob.glob("/sys/class/virtio-ports/*"):
        if text_of(port + "/name") == name:
            return "/dev/" + os.path.basename(port)
    raise AssertionError("no virtual port " + name)


class Program:
    """breakstep with these arguments, as an ordinary user (in dialout or not) or as root."""

    def __init__(self, arguments, user="member"):
        who = {} if user == "root" else {"user": SOMEBODY, "group": SOMEBODY,
                                         "extra_groups": [DIALOUT] if user == "member" else []}
        self.process = subprocess.Popen([ROOM + "/breakstep", *arguments], cwd=ROOM, stdout=subprocess.PIPE,
                                        stderr=subprocess.PIPE, stdin=subprocess.DEVNULL, text=True, **who)
        self.out, self.err = [], []
        self.readers = [threading.Thread(target=self.read, args=pair, daemon=True)
                        for pair in ((self.process.stdout, self.out), (self.process.stderr, self.err))]
        for reader in self.readers:
            reader.start()

    @staticmethod
    def read(stream, lines):
        for line in stream:
            lines.append(line.rstrip("\n"))

    def said(self):
        return "\n".join(self.err + self.out)

    def wait_for(self, text, seconds, times=1):
        until(lambda: self.said().count(text) >= times, seconds, f'"{text}" in what was said: {self.said()[-600:]!r}')

    def end(self, seconds=60):
        """Its exit code."""
        try:
            code = self.process.wait(seconds)
        except subprocess.TimeoutExpired:
            raise AssertionError(f"did not end within {seconds} s; said {self.said()[-600:]!r}") from None
        for reader in self.readers:
            reader.join(5)
        return code

    def stop(self):
        if self.process.poll() is None:
            self.process.terminate()
            try:
                self.process.wait(20)
            except subprocess.TimeoutExpired:
                self.process.kill()
                self.process.wait(60)

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.stop()


def run(arguments, user="member", seconds=60):
    with Program(arguments, user) as program:
        return program.end(seconds), program.said()


class UsbWatch(threading.Thread):
    """Submitted control transfers that set the baud or the modem lines, as one line each, and each change of DTR.

    There are thousands of other transfers a second. usbmon keeps them in a ring (its binary side, as the kernel's
    Documentation/usb/usbmon.rst has it), which is looked through ten times a second: reading each as it comes, on the one
    processor of the emulated machine, would make every byte between rig and program wait.
    """
    SET_RING, FETCH = 0x9204, 0xC0109207
    RING, AT_ONCE, HEADER = 1 << 20, 8192, 64
    ASKED_FOR = {(0x40, 0x01), (0x40, 0x03), (0x21, 0x20), (0x21, 0x22)}

    def __init__(self, driver, on_rise=None):
        super().__init__(daemon=True)
        self.driver, self.on_rise = driver, on_rise
        self.lines, self.changes = [], []
        self.over = threading.Event()
        self.mon = os.open("/dev/usbmon0", os.O_RDONLY | os.O_NONBLOCK)
        fcntl.ioctl(self.mon, self.SET_RING, self.RING)
        self.ring = mmap.mmap(self.mon, self.RING, prot=mmap.PROT_READ)
        self.places = array.array("I", bytes(4 * self.AT_ONCE))
        self.start()

    def run(self):
        seen = 0
        while not self.over.wait(0.1):
            # `seen` are let go of, then the places of the next ones are told.
            asked = struct.pack("@PII", self.places.buffer_info()[0], self.AT_ONCE, seen)
            try:
                seen = struct.unpack("@PII", fcntl.ioctl(self.mon, self.FETCH, asked))[1]
            except BlockingIOError:
                seen = 0
            for place in self.places[:seen]:
                if self.ring[place + 8] == ord("S") and self.ring[place + 14] == 0:
                    self.control(place)

    def control(self, place):
        kind, request, value, index, length = struct.unpack_from("<BBHHH", self.ring, place + 40)
        if (kind, request) not in self.ASKED_FOR:
            return
        kept = struct.unpack_from("<I", self.ring, place + 36)[0]
        data = self.ring[place + self.HEADER:place + self.HEADER + kept].hex()
        line = f"{kind:02x} {request:02x} {value:04x} {index:04x} {length:04x} {data}"
        self.lines.append(line)
        self.follow(self.driver.dtr(line))

    def follow(self, up):
        if up is None or up == (self.changes[-1] if self.changes else False):
            return
        self.changes.append(up)
        if up and self.on_rise:
            self.on_rise()

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.over.set()
        self.join(5)
        self.ring.close()
        os.close(self.mon)


class Driver:
    """A kind of adapter: how it comes and goes, and the ports it makes."""
    nodes = ""

    def tty_of(self, adapter):
        for tty in glob.glob("/sys/class/tty/" + self.nodes):
            for above in ("/device/../serial", "/device/../../serial"):
                if text_of(tty + above) == self.serials[adapter] and os.path.exists("/dev/" + os.path.basename(tty)):
                    return "/dev/" + os.path.basename(tty)
        return ""

    def came(self, adapter):
        """Waits for its port; does what the rules for devices would do. Its path."""
        path = until(lambda: self.tty_of(adapter), 20, f"the port of {adapter}")
        os.makedirs("/run/by-id", exist_ok=True)
        link = "/run/by-id/usb-" + self.serials[adapter]
        with contextlib.suppress(FileNotFoundError):
            os.unlink(link)
        os.symlink(path, link)
        os.chown(path, 0, DIALOUT)
        os.chmod(path, 0o660)
        return path

    def gone(self, adapter):
        until(lambda: not self.tty_of(adapter), 20, f"{adapter} gone")

    def plugged(self, adapter):
        self.plug(adapter)
        return self.came(adapter)

    def unplugged(self, adapter):
        self.unplug(adapter)
        self.gone(adapter)


class Ftdi(Driver):
    name, nodes = "ftdi_sio", "ttyUSB*"
    serials = {"rig": "RIG1", "mute": "MUTE1"}
    baud_set = re.compile(r"^40 03 0006 ")  # 3,000,000 / 6 = 500,000

    @staticmethod
    def dtr(line):
        """What this line does to DTR: up, down or (None) nothing. The high byte says which lines, the low one how."""
        asked = re.search(r"^40 01 (\w\w)(\w\w) ", line)
        return bool(int(asked[2], 16) & 1) if asked and int(asked[1], 16) & 1 else None

    def __init__(self, outside):
        self.plug, self.unplug = outside.plug, outside.unplug
        self.rig, self.no_rig, self.reset_rig, self.truth = (outside.rig, outside.no_rig, outside.reset_rig,
                                                             outside.truth)


class Cdc(Driver):
    """Gadgets on dummy_hcd: their far ends are serial ports of this machine too. The mute one's is never opened.

    Where a real bus has a frame each millisecond, dummy_hcd moves bytes once a timer tick of the kernel: every 4 ms with Debian's
    HZ=250. A wait of 0 to 2 ms before a reply is not random on such a line; of 0 to 5 ms it is.
    """
    name, nodes = "cdc_acm", "ttyACM*"
    serials = {"rig": "RIG2", "mute": "MUTE2"}
    baud_set = re.compile(r"^21 20 0000 \w+ 0007 20a10700000008$")
    far_ends = {"rig": "/dev/ttyGS0", "mute": "/dev/ttyGS1"}
    truth_file = "/run/truth.jsonl"
    process = None

    @staticmethod
    def dtr(line):
        asked = re.search(r"^21 22 (\w{4}) ", line)
        return bool(int(asked[1], 16) & 1) if asked else None

    def __init__(self):
        for number, adapter in enumerate(("rig", "mute")):
            folder = self.folder(adapter)
            os.makedirs(folder + "/strings/0x409")
            os.makedirs(folder + "/configs/c.1")
            write(folder + "/idVendor", "0x1209")  # given to whoever tries things out
            write(folder + "/idProduct", "0x0001")
            write(folder + "/strings/0x409/serialnumber", self.serials[adapter])
            os.makedirs(f"{folder}/functions/acm.{number}")
            os.symlink(f"{folder}/functions/acm.{number}", f"{folder}/configs/c.1/acm.{number}")

    def folder(self, adapter):
        return "/sys/kernel/config/usb_gadget/" + adapter

    def plug(self, adapter):
        write(self.folder(adapter) + "/UDC", "dummy_udc." + ("0" if adapter == "rig" else "1"))

    def unplug(self, adapter):
        write(self.folder(adapter) + "/UDC", "\n")

    # The rig runs in here, at the gadget's end, before everything else.

    def rig(self, arguments):
        self.no_rig()
        write(self.truth_file, "")
        stranger = os.path.join(HERE, "..", "scenarios", "stranger_rig.py")
        self.process = subprocess.Popen(["/usr/bin/python3", "-B", "-u", stranger, "--port", self.far_ends["rig"], "--hold", "5",
                                         "--truth", self.truth_file, *arguments], stdout=subprocess.PIPE, text=True)
        check(self.process.stdout.readline(), "the rig did not start")
        os.sched_setscheduler(self.process.pid, os.SCHED_RR, os.sched_param(1))

    def no_rig(self):
        if self.process:
            self.process.kill()
            self.process.wait(60)
            self.process = None

    def reset_rig(self):
        self.process.send_signal(signal.SIGUSR1)

    def truth(self):
        return [json.loads(line) for line in text_of(self.truth_file).splitlines()]


def mode_of(path):
    """The port's settings, read by root without opening the lines anew."""
    port = os.open(path, os.O_RDWR | os.O_NOCTTY | os.O_NONBLOCK)
    try:
        mode = termios.tcgetattr(port)
        return mode[:6] + [mode[6][termios.VMIN], mode[6][termios.VTIME]]
    finally:
        os.close(port)
