/* The wire between rig and host: messages, frames, and a receiver that takes one byte at a time.
 *
 * Shared by firmware and host; C99, no allocation, no global state, no I/O. PROTOCOL.md is the definition in words;
 * this header and PROTOCOL.md say the same. Every function may be called from any thread or interrupt as long as one
 * receiver is used by one caller at a time. All numbers are little-endian on the wire.
 *
 * A frame is COBS(payload, CRC-32 of the payload) and one zero byte. The payload's first byte is the message type.
 * Types below 0x80 come from the rig; 0x80 and above from the host. Types 0x10 to 0x1F are events: they carry a
 * sequence number, are kept by the rig until acknowledged, and can be asked for again.
 */
#ifndef BREAKSTEP_WIRE_H
#define BREAKSTEP_WIRE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

/* Aligned by hand. */
/* clang-format off */

enum {
    WIRE_VERSION_MAJOR = 1, /* another major version is refused */
    WIRE_VERSION_MINOR = 0, /* a newer minor version may add message types and append fields; both are skipped */
    WIRE_PAYLOAD_MAX = 32,
    WIRE_CRC_SIZE = 4,
    WIRE_FRAME_MAX = WIRE_PAYLOAD_MAX + WIRE_CRC_SIZE + 2, /* one COBS code byte, one zero */
    WIRE_TICK_NS = 500,                                    /* rig times count half microseconds since the boot, 48 bits */
    WIRE_PADS_MAX = 8,
    WIRE_GATES_MAX = 8,
    WIRE_LAMPS_MAX = 8
};

/* Not in the enumeration: it would not fit the 16-bit int of an 8-bit controller and widen all its neighbours. */
#define WIRE_BAUD 500000UL

enum wire_type {
    /* rig to host, not sequenced */
    WIRE_HELLO = 0x01,         /* at boot every 500 ms until acknowledged; and in answer to hello_request */
    WIRE_CHANNEL = 0x02,       /* one for each channel, after each hello: pads, gates, lamps, syncs */
    WIRE_SNAPSHOT = 0x03,      /* gates and lamps as they are, after the channels */
    WIRE_PING_REPLY = 0x04,
    WIRE_OVERWRITTEN = 0x05,   /* events asked for again that the rig no longer has */
    WIRE_PAD_LEVEL = 0x06,     /* while levels are on, every 50 ms for each pad */
    WIRE_COUNTERS = 0x07,
    WIRE_SETTING_VALUE = 0x08,
    WIRE_LAMP_ACCEPTED = 0x09, /* the order is in the rig's queue; again for every repeat of it, also when carried out */
    /* rig to host, events */
    WIRE_PAD_HIT = 0x10,
    WIRE_GATE_BROKEN = 0x11,
    WIRE_GATE_RESTORED = 0x12,
    WIRE_SYNC_EDGE = 0x13,
    WIRE_LAMPS_SET = 0x14,     /* an order was carried out: the lamps' confirmed onset */
    WIRE_LAMP_REFUSED = 0x15,
    WIRE_LAMP_CANCELLED = 0x16,
    /* host to rig */
    WIRE_HELLO_REQUEST = 0x80, /* a connection begins: levels go off; nothing else changes */
    WIRE_PING = 0x81,
    WIRE_ACKNOWLEDGE = 0x82,   /* everything up to `through` is kept by the host; the rig sends events only after the
                                  first acknowledge that names its boot */
    WIRE_RESEND = 0x83,
    WIRE_LAMP_ORDER = 0x84,
    WIRE_LAMP_CANCEL = 0x85,
    WIRE_SETTING_SET = 0x86,
    WIRE_SETTING_GET = 0x87,
    WIRE_COUNTERS_REQUEST = 0x88,
    WIRE_LEVELS = 0x89
};

enum wire_channel_kind { WIRE_KIND_PAD = 1, WIRE_KIND_GATE = 2, WIRE_KIND_LAMP = 3, WIRE_KIND_SYNC = 4 };
enum wire_pad_role { WIRE_PAD_HIGH_LEFT = 0, WIRE_PAD_HIGH_RIGHT = 1, WIRE_PAD_LOW_LEFT = 2, WIRE_PAD_LOW_RIGHT = 3 };
enum wire_gate_role {
    WIRE_GATE_NEAR = 0, WIRE_GATE_FAR = 1, WIRE_GATE_BACK = 2, WIRE_GATE_LINE = 3, WIRE_GATE_LOW = 4, WIRE_GATE_HIP = 5,
    WIRE_GATE_HANDS = 6, WIRE_GATE_PARTNER_BACK = 7
};
enum wire_lamp_role { WIRE_LAMP_FOOT = 0, WIRE_LAMP_HIP = 1, WIRE_LAMP_HEAD = 2, WIRE_LAMP_READY = 3 };
enum wire_channel_flag { WIRE_CHANNEL_OPTIONAL = 1 };

enum wire_refusal {
    WIRE_REFUSED_TOO_LATE = 1,    /* `at` had passed when the order came */
    WIRE_REFUSED_TOO_FAR = 2,     /* `at` is more than 60 s ahead */
    WIRE_REFUSED_QUEUE_FULL = 3,
    WIRE_REFUSED_NO_LAMP = 4      /* `affected` names a lamp the rig has not */
};

enum wire_setting {               /* index: the pad or gate; unit of the value */
    WIRE_SETTING_PAD_THRESHOLD = 1,  /* pad; raw level 1 .. 1023 */
    WIRE_SETTING_PAD_WINDOW = 2,     /* pad; peak search after the first crossing, 0.1 ms, 5 .. 200 */
    WIRE_SETTING_PAD_REFRACTORY = 3, /* pad; ms, 5 .. 500 */
    WIRE_SETTING_CROSSTALK = 4,      /* index 0; ms within which the strongest pad wins, 1 .. 20 */
    WIRE_SETTING_GATE_DEBOUNCE = 5   /* gate; 0.1 ms both ways, 0 .. 500 */
};
enum wire_setting_status { WIRE_SETTING_OK = 0, WIRE_SETTING_UNKNOWN = 1, WIRE_SETTING_OUT_OF_RANGE = 2 };

enum wire_counter { /* each stops at 65535 */
    WIRE_COUNT_FRAMES_REJECTED = 0, /* damaged frames from the host */
    WIRE_COUNT_RECEIVE_OVERRUN = 1, /* bytes lost in the rig's receiver */
    WIRE_COUNT_RESENT = 2,
    WIRE_COUNT_OVERWRITTEN = 3,     /* events lost because the host did not acknowledge in time */
    WIRE_COUNT_WATCHDOG = 4,        /* resets by the watchdog, kept over boots */
    WIRE_COUNT_GATE_BOUNCES = 5,    /* edges swallowed by the debounce */
    WIRE_COUNT_SEND_BLOCKED = 6,    /* frames delayed because the send buffer was full */
    WIRE_COUNTERS_SIZE = 7
};

/* Any message. `type` says which member of the union holds. `sequence` and `time` belong to events (0x10 .. 0x1F);
 * sequence numbers start at 1 at each boot and wrap from 65535 to 0. Times are ticks. */
struct wire_message {
    uint8_t type;
    uint16_t sequence;
    uint64_t time;
    union {
        struct {
            uint8_t version_major, version_minor;
            uint64_t board;           /* the board's own identity: the same at every boot, no two boards alike */
            uint32_t boot;            /* random at each boot, never 0 */
            uint8_t pads, gates, lamps, syncs;
            uint16_t newest;          /* sequence of the newest event; 0 before the first */
            uint16_t oldest_kept;     /* the oldest that can still be resent; newest + 1 if none */
        } hello;
        struct {
            uint8_t kind, index, role, flags;
            uint16_t bound_ticks;     /* worst-case error of this channel's stamps (for a lamp: of its onset), half-width */
        } channel;
        struct {
            uint64_t time;
            uint8_t gates_broken;     /* bit i: gate i */
            uint8_t lamps_lit;        /* bit i: lamp i */
            uint16_t newest;
        } snapshot;
        struct {
            uint16_t id;
            uint32_t boot;
            uint64_t received, replied; /* ticks: t1 and t2 */
            uint16_t newest;
        } ping_reply;
        struct { uint16_t first, last; } overwritten;
        struct { uint64_t time; uint8_t pad; uint16_t level, noise; } pad_level;
        struct { uint16_t values[WIRE_COUNTERS_SIZE]; } counters;
        struct { uint8_t key, index, status; uint16_t value; } setting;      /* setting_value; set and get ignore status */
        struct { uint32_t boot; uint16_t order; } lamp_accepted, lamp_cancel; /* cancel: order 65535 = every order */
        struct { uint8_t pad; uint16_t peak; uint8_t echoes; } pad_hit;      /* time: the first crossing; echoes: bit i */
        struct { uint8_t gate; } gate;
        struct { uint8_t rising; } sync;
        struct { uint16_t order; uint8_t lit; uint8_t reason; } lamp;        /* lamps_set: lit after it; refused: reason */
        struct { uint16_t id; } ping;
        struct { uint32_t boot; uint16_t through; } acknowledge;
        struct { uint32_t boot; uint16_t first; uint8_t count; } resend;
        struct { uint32_t boot; uint16_t order; uint64_t at; uint8_t affected, lit; } lamp_order; /* order 1 .. 65534 */
        struct { uint8_t on; } levels;
    } as;
};

/* clang-format on */

static inline bool wire_is_event(uint8_t type) { return type >= 0x10 && type <= 0x1F; }

/* CRC-32/ISO-HDLC of `size` bytes. */
uint32_t wire_crc32(const uint8_t* bytes, size_t size);

/* COBS without the closing zero. `out` needs size + size / 254 + 1 bytes. Returns the bytes written. */
size_t wire_cobs_encode(const uint8_t* bytes, size_t size, uint8_t* out);
/* Returns the bytes written (at most size - 1), or SIZE_MAX if `bytes` is not COBS. `out` may be `bytes`. */
size_t wire_cobs_decode(const uint8_t* bytes, size_t size, uint8_t* out);

/* The payload of a message, 1 .. WIRE_PAYLOAD_MAX bytes; 0 if the type is unknown. */
size_t wire_encode_payload(const struct wire_message* message, uint8_t out[WIRE_PAYLOAD_MAX]);
/* False if the type is unknown or the payload shorter than its type needs; longer ones are taken, the rest skipped.
 * An event type this version does not know (0x17 .. 0x1F) is taken as far as sequence and time: the host must count it
 * in sequence, or it would ask for it for ever. Values are not checked against their ranges. Unused members are 0. */
bool wire_decode_payload(const uint8_t* payload, size_t size, struct wire_message* out);

/* A whole frame with its closing zero. Returns its size, 0 if the type is unknown. Times are cut to 48 bits. */
size_t wire_encode_frame(const struct wire_message* message, uint8_t out[WIRE_FRAME_MAX]);

/* clang-format off */
enum wire_received {
    WIRE_RECEIVED_NOTHING = 0,   /* the frame goes on, or it was empty (two zeros in a row) */
    WIRE_RECEIVED_MESSAGE = 1,
    WIRE_RECEIVED_DAMAGED = 2,   /* not COBS, too long or too short, or wrong CRC */
    WIRE_RECEIVED_UNKNOWN = 3    /* a whole frame of a type this version does not know, or of a short payload: skipped */
};
/* clang-format on */

/* Collects the bytes of one frame. Zero-initialise it; it resynchronises at the next zero by itself. */
struct wire_receiver {
    uint8_t bytes[WIRE_FRAME_MAX];
    uint8_t size;
    bool too_long;
};

/* Takes one byte; at a frame's end fills `out` if the answer is WIRE_RECEIVED_MESSAGE. */
enum wire_received wire_receive(struct wire_receiver* receiver, uint8_t byte, struct wire_message* out);

#ifdef __cplusplus
}
#endif

#endif
