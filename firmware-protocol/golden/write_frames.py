#!/usr/bin/env python3
"""Fills in the bytes of the golden frames: the third column of frames.txt, and the lines after `=` in PROTOCOL.md.

A second implementation of PROTOCOL.md's tables, apart from the C library and sharing nothing with it, so that the
golden bytes do not come from the code they test. Only the standard library. Run it after adding a line to frames.txt or a worked frame to PROTOCOL.md:

    write_frames.py            rewrites both files
    write_frames.py --check    says which lines differ; exit code 1 if any does
"""
import pathlib
import sys
import zlib

# Message: type, then (field, bytes) in wire order. Events begin with EVENT.
EVENT = [("sequence", 2), ("time", 6)]
MESSAGES = {
    "hello": (0x01, [("version_major", 1), ("version_minor", 1), ("board", 8), ("boot", 4), ("pads", 1), ("gates", 1),
                     ("lamps", 1), ("syncs", 1), ("newest", 2), ("oldest_kept", 2)]),
    "channel": (0x02, [("kind", 1), ("index", 1), ("role", 1), ("flags", 1), ("bound_ticks", 2)]),
    "snapshot": (0x03, [("time", 6), ("gates_broken", 1), ("lamps_lit", 1), ("newest", 2)]),
    "ping_reply": (0x04, [("id", 2), ("boot", 4), ("received", 6), ("replied", 6), ("newest", 2)]),
    "overwritten": (0x05, [("first", 2), ("last", 2)]),
    "pad_level": (0x06, [("time", 6), ("pad", 1), ("level", 2), ("noise", 2)]),
    "counters": (0x07, [("frames_rejected", 2), ("receive_overrun", 2), ("resent", 2), ("overwritten", 2),
                        ("watchdog", 2), ("gate_bounces", 2), ("send_blocked", 2)]),
    "setting_value": (0x08, [("key", 1), ("index", 1), ("status", 1), ("value", 2)]),
    "lamp_accepted": (0x09, [("boot", 4), ("order", 2)]),
    "pad_hit": (0x10, EVENT + [("pad", 1), ("peak", 2), ("echoes", 1)]),
    "gate_broken": (0x11, EVENT + [("gate", 1)]),
    "gate_restored": (0x12, EVENT + [("gate", 1)]),
    "sync_edge": (0x13, EVENT + [("rising", 1)]),
    "lamps_set": (0x14, EVENT + [("order", 2), ("lit", 1)]),
    "lamp_refused": (0x15, EVENT + [("order", 2), ("reason", 1)]),
    "lamp_cancelled": (0x16, EVENT + [("order", 2)]),
    "hello_request": (0x80, []),
    "ping": (0x81, [("id", 2)]),
    "acknowledge": (0x82, [("boot", 4), ("through", 2)]),
    "resend": (0x83, [("boot", 4), ("first", 2), ("count", 1)]),
    "lamp_order": (0x84, [("boot", 4), ("order", 2), ("at", 6), ("affected", 1), ("lit", 1)]),
    "lamp_cancel": (0x85, [("boot", 4), ("order", 2)]),
    "setting_set": (0x86, [("key", 1), ("index", 1), ("value", 2)]),
    "setting_get": (0x87, [("key", 1), ("index", 1)]),
    "counters_request": (0x88, []),
    "levels": (0x89, [("on", 1)]),
}


def stuffed(plain):
    groups = plain.split(b"\0")
    if any(len(group) > 253 for group in groups):
        raise ValueError("this writer knows short frames only")
    return b"".join(bytes([len(group) + 1]) + group for group in groups)


def frame_of(payload):
    return stuffed(payload + zlib.crc32(payload).to_bytes(4, "little")) + b"\0"


def payload_of(words):
    kind, fields = MESSAGES[words[0]]
    given = dict(word.split("=") for word in words[1:])
    if list(given) != [name for name, _ in fields]:
        raise ValueError(f"{words[0]} takes the fields {[name for name, _ in fields]}, in this order")
    return bytes([kind]) + b"".join(int(given[name], 0).to_bytes(size, "little") for name, size in fields)


def line_with_bytes(line):
    """`name | message | hex`, or `name | payload HEX | hex` for frames of other versions."""
    name, message, *_ = (part.strip() for part in line.split("|"))
    words = message.split()
    payload = bytes.fromhex(" ".join(words[1:])) if words[0] == "payload" else payload_of(words)
    return f"{name} | {message} | {frame_of(payload).hex(' ')}"


def golden_lines(lines):
    return [line if not line or line.startswith("#") else line_with_bytes(line) for line in lines]


def document_lines(lines):
    """In blocks marked frame or talk, a line `= BYTES` follows each message (after `> ` or `< ` in a talk)."""
    after, inside, message = [], False, ""
    for line in lines:
        if line.startswith("```"):
            inside = line in ("```frame", "```talk")
        elif inside and line.startswith("= "):
            line = "= " + frame_of(payload_of(message.split())).hex(" ")
        elif inside:
            message = line.removeprefix("> ").removeprefix("< ")
        after.append(line)
    return after


def main():
    folder = pathlib.Path(__file__).resolve().parent
    different = []
    for path, filled in ((folder / "frames.txt", golden_lines), (folder.parent / "PROTOCOL.md", document_lines)):
        before = path.read_text().splitlines()
        after = filled(before)
        different += [f"{path.name}: {new}" for old, new in zip(before, after) if old != new]
        if "--check" not in sys.argv[1:]:
            path.write_text("\n".join(after) + "\n")
    if "--check" in sys.argv[1:]:
        print("\n".join(different) or "all lines hold")
        return 1 if different else 0
    return 0


if __name__ == "__main__":
    sys.exit(main())
