#!/usr/bin/env python3
"""The outside of the emulated machine: QEMU, what is plugged into it, and the rigs behind its lines.

guest.py runs inside and asks, in lines of JSON, for what only the outside can do: start a rig, plug an adapter. Rigs are
tests/scenarios/stranger_rig.py; behind the emulated adapter's line there is one, or nobody. Prints the table that guest.py tells; ends with 0 if every case held.
"""
import argparse
import json
import os
import select
import signal
import socket
import subprocess
import sys
import tempfile
import threading
import time
import tty

HERE = os.path.dirname(os.path.abspath(__file__))
STRANGER = os.path.join(HERE, "..", "scenarios", "stranger_rig.py")
ADAPTERS = {"rig": "serial=RIG1,chardev=adapter", "mute": "serial=MUTE1,chardev=nobody"}

# The processor's own clock, never given up in the middle for a slow one; on a loaded computer the kernel's test of its timer
# may hang.
CLOCKS = "tsc=reliable no_timer_check"
LONGEST_START, LONGEST = 300, 2700  # seconds


class Line(threading.Thread):
    """Copies bytes between a socket of QEMU's and the rig that stands behind it now; with none, it reads and drops."""

    def __init__(self, path):
        super().__init__(daemon=True)
        self.socket = socket.socket(socket.AF_UNIX)
        self.socket.connect(path)
        self.rig, self.port, self.truth = None, None, None
        self.start()

    def plug(self, arguments):
        self.unplug()
        self.truth = tempfile.NamedTemporaryFile(mode="r", suffix=".jsonl")
        self.rig = subprocess.Popen([sys.executable, "-u", STRANGER, "--truth", self.truth.name, *arguments],
                                    stdout=subprocess.PIPE, text=True)
        port = os.open(self.rig.stdout.readline().strip(), os.O_RDWR | os.O_NOCTTY | os.O_NONBLOCK)
        tty.setraw(port)
        self.port = port

    def unplug(self):
        if self.rig:
            port, self.port = self.port, None
            self.rig.kill()
            self.rig.wait()
            self.rig = None
            os.close(port)

    def run(self):
        while True:
            port = self.port
            ends = [self.socket] + ([port] if port is not None else [])
            try:
                for end in select.select(ends, [], [], 0.1)[0]:
                    if end is self.socket:
                        data = self.socket.recv(4096)
                        if not data:
                            return
                        if port is not None:
                            os.write(port, data)
                    else:
                        self.socket.sendall(os.read(port, 4096))
            except (BlockingIOError, OSError, ValueError):
                time.sleep(0.001)


class Machine:
    def __init__(self, build, folder):
        self.folder = folder
        at = lambda name: os.path.join(folder, name)
        chardev = lambda name: ["-chardev", f"socket,id={name},path={at(name)},server=on,wait=off"]
        # One processor: two would have to be woken for each other at every byte, which on a loaded computer takes milliseconds.
        command = ["qemu-system-x86_64", "-accel", "tcg,thread=multi", "-smp", "1", "-m", "768", "-nodefaults", "-no-reboot",
                   "-display", "none", "-kernel", os.path.join(build, "kernel"),
                   "-initrd", os.path.join(build, "first.cpio"), "-append", "console=ttyS0 quiet panic=-1 " + CLOCKS,
                   "-serial", "file:" + os.path.join(build, "console.log"), "-serial", "null",
                   "-virtfs", "local,path=/,mount_tag=host,security_model=none,readonly=on,multidevs=remap",
                   "-qmp", f"unix:{at('qmp')},server=on,wait=off",
                   "-device", "qemu-xhci,id=usb", "-device", "virtio-serial",
                   *chardev("control"), "-device", "virtserialport,chardev=control,name=control",
                   *chardev("adapter"), "-chardev", "null,id=nobody"]
        self.process = subprocess.Popen(command)
        for name in ("qmp", "control", "adapter"):
            while not os.path.exists(at(name)):
                if self.process.poll() is not None:
                    raise SystemExit("usb: QEMU did not start")
                time.sleep(0.05)
        self.monitor = socket.socket(socket.AF_UNIX)
        self.monitor.connect(at("qmp"))
        self.monitor.settimeout(30)
        self.answers = self.monitor.makefile("r")
        self.answers.readline()
        self.ask("qmp_capabilities")
        self.control = socket.socket(socket.AF_UNIX)
        self.control.connect(at("control"))
        self.line = Line(at("adapter"))

    def ask(self, what, **arguments):
        self.monitor.sendall(json.dumps({"execute": what, "arguments": arguments}).encode() + b"\n")
        while True:
            answer = json.loads(self.answers.readline())
            if "error" in answer:
                raise RuntimeError(answer["error"]["desc"])
            if "return" in answer:
                return answer["return"]

    def end(self):
        self.line.unplug()
        self.process.kill()
        self.process.wait()


class Asked:
    """What guest.py may ask for."""

    def __init__(self, machine, program, silence, only):
        self.machine = machine
        self.given = {"program": program, "silence": silence, "only": only}
        self.rows = []
        self.versions = ""

    def wanted(self):
        return self.given

    def rig(self, arguments):
        self.machine.line.plug(arguments)

    def no_rig(self):
        self.machine.line.unplug()

    def reset_rig(self):
        self.machine.line.rig.send_signal(signal.SIGUSR1)

    def truth(self):
        with open(self.machine.line.truth.name) as file:
            return [json.loads(each) for each in file]

    def plug(self, adapter):
        device = dict(each.split("=") for each in ADAPTERS[adapter].split(","))
        for tries in range(50):
            try:
                return self.machine.ask("device_add", driver="usb-serial", id=adapter, bus="usb.0",
                                        **{"always-plugged": True}, **device)
            except RuntimeError:
                # The machine inside sees it gone a moment before QEMU has let it go.
                if tries == 49:
                    raise
                time.sleep(0.1)

    def unplug(self, adapter):
        self.machine.ask("device_del", id=adapter)

    def say(self, text):
        print(text, file=sys.stderr, flush=True)

    def row(self, case, driver, result, seconds):
        self.rows.append((case, driver, result, seconds))
        print(f"  {result:<8}{seconds:7.1f} s  {driver:<9} {case}", file=sys.stderr, flush=True)

    def version(self, text):
        self.versions = text


def serve(machine, asked):
    """Answers guest.py until it says that it is done."""
    begin = time.monotonic()
    end = begin + LONGEST_START
    waiting = b""
    while time.monotonic() < end:
        if not select.select([machine.control], [], [], 1)[0]:
            if machine.process.poll() is not None:
                return False
            continue
        end = begin + LONGEST
        waiting += machine.control.recv(65536)
        *whole, waiting = waiting.split(b"\n")
        for line in whole:
            asked_for = json.loads(line)
            if asked_for["ask"] == "done":
                return True
            try:
                answer = {"answer": getattr(asked, asked_for["ask"])(*asked_for["with"])}
            except Exception as error:  # the guest's case fails then, not the machine
                answer = {"error": f"{type(error).__name__}: {error}"}
            machine.control.sendall(json.dumps(answer).encode() + b"\n")
        if machine.process.poll() is not None:
            return False
    return False


def table(rows, versions):
    print("| case | driver | result | seconds |\n| --- | --- | --- | --- |")
    for case, driver, result, seconds in rows:
        print(f"| {case} | {driver} | {result} | {seconds:.1f} |")
    print(f"\n{versions}")


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("build", help="where `prepare` left the kernel")
    parser.add_argument("program", help="breakstep")
    parser.add_argument("--silence", type=float, default=300, metavar="SECONDS", help="before the strikes of a long watch")
    parser.add_argument("--only", default="", metavar="WORDS", help="cases with these words in their names")
    given = parser.parse_args()
    build = os.path.abspath(given.build)
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(1))  # so that QEMU and the rigs end with this
    with tempfile.TemporaryDirectory(prefix="usb") as folder:
        machine = Machine(build, folder)
        asked = Asked(machine, os.path.abspath(given.program), given.silence, given.only)
        begin = time.monotonic()
        try:
            whole = serve(machine, asked)
        finally:
            machine.end()
    qemu = subprocess.run(["qemu-system-x86_64", "--version"], capture_output=True, text=True).stdout.splitlines()[0]
    table(asked.rows, f"{asked.versions}; {qemu}; {time.monotonic() - begin:.0f} s in all.")
    failed = sum(result == "FAILED" for _, _, result, _ in asked.rows)
    if not whole:
        print("the emulated machine ended before its last case; see", os.path.join(build, "console.log"), file=sys.stderr)
    print(f"{len(asked.rows) - failed} passed, {failed} failed")
    return 0 if whole and asked.rows and not failed else 1


if __name__ == "__main__":
    sys.exit(main())
