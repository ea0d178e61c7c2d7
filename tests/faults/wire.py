"""Frames and numbers of the wire, from the words of firmware-protocol/PROTOCOL.md alone (sections 2, 3 and 4).

Standard library only, and nothing of this project's code: it is what a stranger who builds a rig would write.
"""
import struct
import zlib

HELLO, CHANNEL, SNAPSHOT, PING_REPLY, OVERWRITTEN, PAD_LEVEL, COUNTERS, SETTING_VALUE, LAMP_ACCEPTED = range(0x01, 0x0A)
PAD_HIT, GATE_BROKEN, GATE_RESTORED, SYNC_EDGE, LAMPS_SET, LAMP_REFUSED, LAMP_CANCELLED = range(0x10, 0x17)
(HELLO_REQUEST, PING, ACKNOWLEDGE, RESEND, LAMP_ORDER, LAMP_CANCEL, SETTING_SET, SETTING_GET, COUNTERS_REQUEST,
 LEVELS) = range(0x80, 0x8A)

# Payload bytes of what a host sends; a shorter one is skipped, more is a newer version's.
FROM_HOST = {HELLO_REQUEST: 1, PING: 3, ACKNOWLEDGE: 7, RESEND: 8, LAMP_ORDER: 15, LAMP_CANCEL: 7, SETTING_SET: 5,
             SETTING_GET: 3, COUNTERS_REQUEST: 1, LEVELS: 2}

PAD, GATE, LAMP, SYNC = 1, 2, 3, 4
TICK_NS = 500
TICKS_MS = 2_000


def u16(value):
    return struct.pack("<H", value)


def u32(value):
    return struct.pack("<I", value)


def u48(value):
    return value.to_bytes(6, "little")


def is_later(a, b):
    """Of two sequence numbers: compared modulo 65536."""
    return 1 <= (a - b) % 65536 <= 32767


def frame(payload):
    """COBS over payload and CRC-32, and the zero that ends it."""
    assert 1 <= len(payload) <= 32
    stuffed = b""
    for piece in (payload + u32(zlib.crc32(payload))).split(b"\0"):
        stuffed += bytes([len(piece) + 1]) + piece
    return stuffed + b"\0"


def payload_of(stuffed):
    """The payload of what stood before a zero; None if it is damaged."""
    if len(stuffed) > 37:
        return None
    plain, at = b"", 0
    while at < len(stuffed):
        code = stuffed[at]
        if at + code > len(stuffed):
            return None
        plain += (b"\0" if at else b"") + stuffed[at + 1:at + code]
        at += code
    if len(plain) < 5 or zlib.crc32(plain[:-4]) != int.from_bytes(plain[-4:], "little"):
        return None
    return plain[:-4]


class Receiver:
    """Bytes in, payloads out (section 2, Receiving). Damaged frames are counted."""

    def __init__(self):
        self.collected = bytearray()
        self.damaged = 0

    def take(self, data):
        for byte in data:
            if byte:
                if len(self.collected) <= 37:
                    self.collected.append(byte)
                continue
            if self.collected:
                payload = payload_of(bytes(self.collected))
                self.collected.clear()
                if payload is None:
                    self.damaged += 1
                elif len(payload) >= FROM_HOST.get(payload[0], 33):
                    yield payload


def worked_frames(text):
    """(words, payload's frame as bytes) of every worked frame of PROTOCOL.md, for a test of frame() and payload_of()."""
    lines = [line.strip() for line in text.splitlines()]
    for words, line in zip(lines, lines[1:]):
        if line.startswith("= "):
            yield words, bytes.fromhex(line[2:])
