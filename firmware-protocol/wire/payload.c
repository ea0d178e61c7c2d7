/* Messages to payloads and back. PROTOCOL.md's tables give the same fields in the same order. */
#include "wire/bytes.h"
#include "wire/wire.h"

/* Type, sequence and time: what every event begins with, also those of newer minor versions. */
enum { EVENT_HEAD_SIZE = 9 };

/* What the fields of this version take, the type byte included; 0: no such type. */
static uint8_t payload_size(uint8_t type) {
    static const uint8_t from_rig[] = {0, 23, 7, 11, 21, 5, 12, 15, 6, 7};
    static const uint8_t events[] = {13, 10, 10, 10, 12, 12, 11};
    static const uint8_t from_host[] = {1, 3, 7, 8, 15, 7, 5, 3, 1, 2};
    if (type < sizeof from_rig) return from_rig[type];
    if (type >= WIRE_PAD_HIT && type < WIRE_PAD_HIT + sizeof events) return events[type - WIRE_PAD_HIT];
    if (type >= WIRE_HELLO_REQUEST && type < WIRE_HELLO_REQUEST + sizeof from_host) {
        return from_host[type - WIRE_HELLO_REQUEST];
    }
    return 0;
}

static uint8_t* put_hello(uint8_t* at, const struct wire_message* m) {
    at = wire_put8(at, m->as.hello.version_major);
    at = wire_put8(at, m->as.hello.version_minor);
    at = wire_put64(at, &m->as.hello.board);
    at = wire_put32(at, &m->as.hello.boot);
    at = wire_put8(at, m->as.hello.pads);
    at = wire_put8(at, m->as.hello.gates);
    at = wire_put8(at, m->as.hello.lamps);
    at = wire_put8(at, m->as.hello.syncs);
    at = wire_put16(at, &m->as.hello.newest);
    return wire_put16(at, &m->as.hello.oldest_kept);
}

static void take_hello(const uint8_t* at, struct wire_message* m) {
    at = wire_take8(at, &m->as.hello.version_major);
    at = wire_take8(at, &m->as.hello.version_minor);
    at = wire_take64(at, &m->as.hello.board);
    at = wire_take32(at, &m->as.hello.boot);
    at = wire_take8(at, &m->as.hello.pads);
    at = wire_take8(at, &m->as.hello.gates);
    at = wire_take8(at, &m->as.hello.lamps);
    at = wire_take8(at, &m->as.hello.syncs);
    at = wire_take16(at, &m->as.hello.newest);
    wire_take16(at, &m->as.hello.oldest_kept);
}

static uint8_t* put_from_rig(uint8_t* at, const struct wire_message* m) {
    uint8_t i;
    switch (m->type) {
        case WIRE_HELLO:
            return put_hello(at, m);
        case WIRE_CHANNEL:
            at = wire_put8(at, m->as.channel.kind);
            at = wire_put8(at, m->as.channel.index);
            at = wire_put8(at, m->as.channel.role);
            at = wire_put8(at, m->as.channel.flags);
            return wire_put16(at, &m->as.channel.bound_ticks);
        case WIRE_SNAPSHOT:
            at = wire_put48(at, &m->as.snapshot.time);
            at = wire_put8(at, m->as.snapshot.gates_broken);
            at = wire_put8(at, m->as.snapshot.lamps_lit);
            return wire_put16(at, &m->as.snapshot.newest);
        case WIRE_PING_REPLY:
            at = wire_put16(at, &m->as.ping_reply.id);
            at = wire_put32(at, &m->as.ping_reply.boot);
            at = wire_put48(at, &m->as.ping_reply.received);
            at = wire_put48(at, &m->as.ping_reply.replied);
            return wire_put16(at, &m->as.ping_reply.newest);
        case WIRE_OVERWRITTEN:
            at = wire_put16(at, &m->as.overwritten.first);
            return wire_put16(at, &m->as.overwritten.last);
        case WIRE_PAD_LEVEL:
            at = wire_put48(at, &m->as.pad_level.time);
            at = wire_put8(at, m->as.pad_level.pad);
            at = wire_put16(at, &m->as.pad_level.level);
            return wire_put16(at, &m->as.pad_level.noise);
        case WIRE_COUNTERS:
            for (i = 0; i < WIRE_COUNTERS_SIZE; ++i) at = wire_put16(at, &m->as.counters.values[i]);
            return at;
        case WIRE_SETTING_VALUE:
            at = wire_put8(at, m->as.setting.key);
            at = wire_put8(at, m->as.setting.index);
            at = wire_put8(at, m->as.setting.status);
            return wire_put16(at, &m->as.setting.value);
        default: /* WIRE_LAMP_ACCEPTED */
            at = wire_put32(at, &m->as.lamp_accepted.boot);
            return wire_put16(at, &m->as.lamp_accepted.order);
    }
}

static void take_from_rig(const uint8_t* at, struct wire_message* m) {
    uint8_t i;
    switch (m->type) {
        case WIRE_HELLO:
            take_hello(at, m);
            return;
        case WIRE_CHANNEL:
            at = wire_take8(at, &m->as.channel.kind);
            at = wire_take8(at, &m->as.channel.index);
            at = wire_take8(at, &m->as.channel.role);
            at = wire_take8(at, &m->as.channel.flags);
            wire_take16(at, &m->as.channel.bound_ticks);
            return;
        case WIRE_SNAPSHOT:
            at = wire_take48(at, &m->as.snapshot.time);
            at = wire_take8(at, &m->as.snapshot.gates_broken);
            at = wire_take8(at, &m->as.snapshot.lamps_lit);
            wire_take16(at, &m->as.snapshot.newest);
            return;
        case WIRE_PING_REPLY:
            at = wire_take16(at, &m->as.ping_reply.id);
            at = wire_take32(at, &m->as.ping_reply.boot);
            at = wire_take48(at, &m->as.ping_reply.received);
            at = wire_take48(at, &m->as.ping_reply.replied);
            wire_take16(at, &m->as.ping_reply.newest);
            return;
        case WIRE_OVERWRITTEN:
            at = wire_take16(at, &m->as.overwritten.first);
            wire_take16(at, &m->as.overwritten.last);
            return;
        case WIRE_PAD_LEVEL:
            at = wire_take48(at, &m->as.pad_level.time);
            at = wire_take8(at, &m->as.pad_level.pad);
            at = wire_take16(at, &m->as.pad_level.level);
            wire_take16(at, &m->as.pad_level.noise);
            return;
        case WIRE_COUNTERS:
            for (i = 0; i < WIRE_COUNTERS_SIZE; ++i) at = wire_take16(at, &m->as.counters.values[i]);
            return;
        case WIRE_SETTING_VALUE:
            at = wire_take8(at, &m->as.setting.key);
            at = wire_take8(at, &m->as.setting.index);
            at = wire_take8(at, &m->as.setting.status);
            wire_take16(at, &m->as.setting.value);
            return;
        default: /* WIRE_LAMP_ACCEPTED */
            at = wire_take32(at, &m->as.lamp_accepted.boot);
            wire_take16(at, &m->as.lamp_accepted.order);
            return;
    }
}

static uint8_t* put_event(uint8_t* at, const struct wire_message* m) {
    at = wire_put16(at, &m->sequence);
    at = wire_put48(at, &m->time);
    switch (m->type) {
        case WIRE_PAD_HIT:
            at = wire_put8(at, m->as.pad_hit.pad);
            at = wire_put16(at, &m->as.pad_hit.peak);
            return wire_put8(at, m->as.pad_hit.echoes);
        case WIRE_GATE_BROKEN:
        case WIRE_GATE_RESTORED:
            return wire_put8(at, m->as.gate.gate);
        case WIRE_SYNC_EDGE:
            return wire_put8(at, m->as.sync.rising);
        case WIRE_LAMPS_SET:
            at = wire_put16(at, &m->as.lamp.order);
            return wire_put8(at, m->as.lamp.lit);
        case WIRE_LAMP_REFUSED:
            at = wire_put16(at, &m->as.lamp.order);
            return wire_put8(at, m->as.lamp.reason);
        default: /* WIRE_LAMP_CANCELLED */
            return wire_put16(at, &m->as.lamp.order);
    }
}

static void take_event(const uint8_t* at, struct wire_message* m) {
    at = wire_take16(at, &m->sequence);
    at = wire_take48(at, &m->time);
    switch (m->type) {
        case WIRE_PAD_HIT:
            at = wire_take8(at, &m->as.pad_hit.pad);
            at = wire_take16(at, &m->as.pad_hit.peak);
            wire_take8(at, &m->as.pad_hit.echoes);
            return;
        case WIRE_GATE_BROKEN:
        case WIRE_GATE_RESTORED:
            wire_take8(at, &m->as.gate.gate);
            return;
        case WIRE_SYNC_EDGE:
            wire_take8(at, &m->as.sync.rising);
            return;
        case WIRE_LAMPS_SET:
            at = wire_take16(at, &m->as.lamp.order);
            wire_take8(at, &m->as.lamp.lit);
            return;
        case WIRE_LAMP_REFUSED:
            at = wire_take16(at, &m->as.lamp.order);
            wire_take8(at, &m->as.lamp.reason);
            return;
        case WIRE_LAMP_CANCELLED:
            wire_take16(at, &m->as.lamp.order);
            return;
        default: /* an event of a newer minor version: its sequence number still counts */
            return;
    }
}

static uint8_t* put_from_host(uint8_t* at, const struct wire_message* m) {
    switch (m->type) {
        case WIRE_PING:
            return wire_put16(at, &m->as.ping.id);
        case WIRE_ACKNOWLEDGE:
            at = wire_put32(at, &m->as.acknowledge.boot);
            return wire_put16(at, &m->as.acknowledge.through);
        case WIRE_RESEND:
            at = wire_put32(at, &m->as.resend.boot);
            at = wire_put16(at, &m->as.resend.first);
            return wire_put8(at, m->as.resend.count);
        case WIRE_LAMP_ORDER:
            at = wire_put32(at, &m->as.lamp_order.boot);
            at = wire_put16(at, &m->as.lamp_order.order);
            at = wire_put48(at, &m->as.lamp_order.at);
            at = wire_put8(at, m->as.lamp_order.affected);
            return wire_put8(at, m->as.lamp_order.lit);
        case WIRE_LAMP_CANCEL:
            at = wire_put32(at, &m->as.lamp_cancel.boot);
            return wire_put16(at, &m->as.lamp_cancel.order);
        case WIRE_SETTING_SET:
            at = wire_put8(at, m->as.setting.key);
            at = wire_put8(at, m->as.setting.index);
            return wire_put16(at, &m->as.setting.value);
        case WIRE_SETTING_GET:
            at = wire_put8(at, m->as.setting.key);
            return wire_put8(at, m->as.setting.index);
        case WIRE_LEVELS:
            return wire_put8(at, m->as.levels.on);
        default: /* WIRE_HELLO_REQUEST, WIRE_COUNTERS_REQUEST */
            return at;
    }
}

static void take_from_host(const uint8_t* at, struct wire_message* m) {
    switch (m->type) {
        case WIRE_PING:
            wire_take16(at, &m->as.ping.id);
            return;
        case WIRE_ACKNOWLEDGE:
            at = wire_take32(at, &m->as.acknowledge.boot);
            wire_take16(at, &m->as.acknowledge.through);
            return;
        case WIRE_RESEND:
            at = wire_take32(at, &m->as.resend.boot);
            at = wire_take16(at, &m->as.resend.first);
            wire_take8(at, &m->as.resend.count);
            return;
        case WIRE_LAMP_ORDER:
            at = wire_take32(at, &m->as.lamp_order.boot);
            at = wire_take16(at, &m->as.lamp_order.order);
            at = wire_take48(at, &m->as.lamp_order.at);
            at = wire_take8(at, &m->as.lamp_order.affected);
            wire_take8(at, &m->as.lamp_order.lit);
            return;
        case WIRE_LAMP_CANCEL:
            at = wire_take32(at, &m->as.lamp_cancel.boot);
            wire_take16(at, &m->as.lamp_cancel.order);
            return;
        case WIRE_SETTING_SET:
            at = wire_take8(at, &m->as.setting.key);
            at = wire_take8(at, &m->as.setting.index);
            wire_take16(at, &m->as.setting.value);
            return;
        case WIRE_SETTING_GET:
            at = wire_take8(at, &m->as.setting.key);
            wire_take8(at, &m->as.setting.index);
            return;
        case WIRE_LEVELS:
            wire_take8(at, &m->as.levels.on);
            return;
        default: /* WIRE_HELLO_REQUEST, WIRE_COUNTERS_REQUEST */
            return;
    }
}

size_t wire_encode_payload(const struct wire_message* message, uint8_t out[WIRE_PAYLOAD_MAX]) {
    uint8_t* const fields = out + 1;
    const uint8_t* end;
    if (payload_size(message->type) == 0) return 0;
    out[0] = message->type;
    if (message->type >= WIRE_HELLO_REQUEST) {
        end = put_from_host(fields, message);
    } else if (wire_is_event(message->type)) {
        end = put_event(fields, message);
    } else {
        end = put_from_rig(fields, message);
    }
    return (size_t)(end - out);
}

bool wire_decode_payload(const uint8_t* payload, size_t size, struct wire_message* out) {
    uint8_t needed;
    if (size == 0) return false;
    needed = payload_size(payload[0]);
    if (needed == 0 && wire_is_event(payload[0])) needed = EVENT_HEAD_SIZE;
    if (needed == 0 || size < needed) return false;
    memset(out, 0, sizeof *out);
    out->type = payload[0];
    if (out->type >= WIRE_HELLO_REQUEST) {
        take_from_host(payload + 1, out);
    } else if (wire_is_event(out->type)) {
        take_event(payload + 1, out);
    } else {
        take_from_rig(payload + 1, out);
    }
    return true;
}
