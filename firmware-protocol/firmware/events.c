#include "events.h"

/* PROTOCOL.md asks for 32 at least. */
enum { EVENTS_KEPT = 34 };

static struct event ring[EVENTS_KEPT];
static uint8_t next_at; /* where the next one goes */
static uint8_t kept;
static uint16_t newest;
static uint16_t overwritten;

void events_add(const struct event* event) {
    if (kept == EVENTS_KEPT) {
        if (overwritten != 65535U) ++overwritten;
    } else {
        ++kept;
    }
    ring[next_at] = *event;
    next_at = (uint8_t)(next_at + 1 == EVENTS_KEPT ? 0 : next_at + 1);
    ++newest;
}

uint16_t events_newest(void) { return newest; }
uint16_t events_oldest_kept(void) { return (uint16_t)(newest - kept + 1U); }
uint16_t events_overwritten(void) { return overwritten; }

void events_acknowledge(uint16_t through) {
    const uint16_t left =
        (uint16_t)(newest - through); /* a `through` later than newest, or long gone, makes it large */
    if (left < kept) kept = (uint8_t)left;
}

bool events_get(uint16_t sequence, struct wire_message* out) {
    const uint16_t age = (uint16_t)(newest - sequence);
    const struct event* event;
    uint8_t at;
    if (age >= kept) return false;
    at = (uint8_t)(next_at + EVENTS_KEPT - 1 - age);
    if (at >= EVENTS_KEPT) at = (uint8_t)(at - EVENTS_KEPT);
    event = &ring[at];
    out->type = event->type;
    out->sequence = sequence;
    out->time = ticks_of(event->time);
    switch (event->type) {
        case WIRE_PAD_HIT:
            out->as.pad_hit.pad = event->as.hit.pad;
            out->as.pad_hit.peak = event->as.hit.peak;
            out->as.pad_hit.echoes = event->as.hit.echoes;
            break;
        case WIRE_GATE_BROKEN:
        case WIRE_GATE_RESTORED:
            out->as.gate.gate = event->as.gate;
            break;
        case WIRE_SYNC_EDGE:
            out->as.sync.rising = event->as.rising;
            break;
        default:
            out->as.lamp.order = event->as.lamp.order;
            out->as.lamp.lit = event->as.lamp.lit_or_reason;
            out->as.lamp.reason = event->as.lamp.lit_or_reason;
            break;
    }
    return true;
}
