#include "gates.h"

#include "board.h"
#include "events.h"
#include "settings.h"

/* A gate that chatters faster than edges can be looked at must not keep everything else waiting. */
enum { EDGES_A_TURN = 8 };

static struct {
    uint32_t changed_at; /* the reported change that the debounce counts from */
    uint32_t edge_at;    /* the newest edge */
} gates[BOARD_GATES];
static uint8_t reported; /* bit i: gate i is broken, as told */
static uint8_t seen;     /* bit i: gate i is broken, as its newest edge said */
static uint8_t holding;  /* bit i: gate i's debounce time is not over */
static uint16_t bounces;

uint8_t gates_broken(void) { return reported; }
uint16_t gates_bounces(void) { return bounces; }

static void count_bounces(uint8_t more) { bounces = (uint16_t)(65535U - bounces < more ? 65535U : bounces + more); }

void gates_start(void) {
    while (!board_gates(&seen)) {
        struct board_edge edge;
        while (board_take_edge(&edge)) {
        }
    }
    reported = seen;
}

static void report(uint8_t gate, uint32_t at, struct rig_time now) {
    const uint8_t bit = (uint8_t)(1U << gate);
    struct event event;
    reported ^= bit;
    gates[gate].changed_at = at;
    holding |= bit;
    event.type = (reported & bit) != 0 ? WIRE_GATE_BROKEN : WIRE_GATE_RESTORED;
    event.time = time_of(at, now);
    event.as.gate = gate;
    events_add(&event);
}

/* Ends the hold at `until` if it is over by then; what the gate has become meanwhile is told too. */
static void release(uint8_t gate, uint32_t until, struct rig_time now) {
    const uint8_t bit = (uint8_t)(1U << gate);
    const uint32_t hold = settings()->debounce[gate] * (uint32_t)TICKS_PER_TENTH_MS;
    while ((holding & bit) != 0 && until - gates[gate].changed_at >= hold) {
        holding &= (uint8_t)~bit;
        if (((seen ^ reported) & bit) != 0) report(gate, gates[gate].edge_at, now);
    }
}

static void take(const struct board_edge* edge, struct rig_time now) {
    const uint8_t bit = (uint8_t)(1U << edge->gate);
    const uint8_t broken = edge->broken ? bit : 0;
    release(edge->gate, edge->at, now);
    if ((holding & bit) != 0 || (reported & bit) == broken) {
        count_bounces(1);
        if ((seen & bit) != broken) gates[edge->gate].edge_at = edge->at;
        seen = (uint8_t)((seen & ~bit) | broken);
        return;
    }
    seen = (uint8_t)((seen & ~bit) | broken);
    gates[edge->gate].edge_at = edge->at;
    report(edge->gate, edge->at, now);
}

/* Edges may have been lost when there were too many of them: the pins have the last word. */
static void agree_with_pins(void) {
    struct rig_time now;
    struct board_edge edge;
    uint8_t broken;
    if (!board_gates(&broken) || broken == seen) return;
    now = board_time();
    for (edge.gate = 0; edge.gate < BOARD_GATES; ++edge.gate) {
        const uint8_t bit = (uint8_t)(1U << edge.gate);
        if (((broken ^ seen) & bit) == 0) continue;
        edge.broken = (broken & bit) != 0;
        edge.at = stamp_of(now);
        take(&edge, now);
    }
}

void gates_run(void) {
    struct board_edge edge;
    uint8_t gate;
    uint8_t left = EDGES_A_TURN;
    while (left-- != 0 && board_take_edge(&edge)) take(&edge, board_time());
    count_bounces(board_edges_missed());
    agree_with_pins();
    if (holding == 0) return;
    {
        const struct rig_time now = board_time();
        for (gate = 0; gate < BOARD_GATES; ++gate) {
            /* An edge stamped before the hold is over may still be on its way: it is given a moment. */
            if ((holding & (1U << gate)) != 0) release(gate, stamp_of(now) - TICKS_PER_TENTH_MS, now);
        }
    }
}
