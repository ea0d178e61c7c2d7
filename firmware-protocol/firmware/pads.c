#include "pads.h"

#include "board.h"
#include "events.h"
#include "settings.h"

enum pad_stage {
    QUIET,    /* armed */
    RISEN,    /* crossed: its peak is being searched */
    DECIDING, /* its peak is known; its blow is not decided yet */
    DEAF      /* reported, or an echo */
};

/* The noise floor follows the level by 1/256 every 4 ms: a time constant of 1 s. */
enum { NOISE_TICKS_MS = 4, NOISE_SHIFT = 8 };

/* Crossings are stamped back by up to the time between two looks at a pad: one that is stamped within the crosstalk
 * time may still be seen this much after it, in ticks. */
enum { STRAGGLERS = 300 };

static struct {
    uint32_t at;
    uint32_t noise; /* level, by 256 */
    uint16_t peak, level;
    uint8_t stage;
    uint8_t leader; /* the pad that crossed first in the same blow; itself, perhaps */
} pads[BOARD_PADS];

static uint32_t noise_at;
static uint8_t restless; /* bit i: pad i is not quiet */

void pads_start(void) {
    uint8_t i;
    for (i = 0; i < BOARD_PADS; ++i) board_pad_arm(i);
}

static bool pending(uint8_t pad) { return pads[pad].stage == RISEN || pads[pad].stage == DECIDING; }

static void begin(uint8_t pad, uint32_t at) {
    const uint32_t reach = settings()->crosstalk * (uint32_t)TICKS_PER_MS;
    uint8_t i;
    pads[pad].at = at;
    pads[pad].leader = pad;
    for (i = 0; i < BOARD_PADS; ++i) {
        if (i == pad || !pending(i) || pads[i].leader != i) continue;
        if (at - pads[i].at <= reach) pads[pad].leader = i;
    }
    pads[pad].stage = RISEN;
    restless |= (uint8_t)(1U << pad);
}

/* Several may have crossed since the last look; their order in time is what makes a leader. */
static void take_crossings(void) {
    uint32_t at[BOARD_PADS];
    uint8_t crossed = board_pads_crossed();
    uint8_t i;
    if (crossed == 0) return;
    for (i = 0; i < BOARD_PADS; ++i) {
        if ((crossed & (1U << i)) != 0) at[i] = board_pad_take_crossing(i);
    }
    while (crossed != 0) {
        uint8_t first = BOARD_PADS;
        for (i = 0; i < BOARD_PADS; ++i) {
            if ((crossed & (1U << i)) == 0) continue;
            if (first == BOARD_PADS || (int32_t)(at[i] - at[first]) < 0) first = i;
        }
        begin(first, at[first]);
        crossed &= (uint8_t) ~(1U << first);
    }
}

static bool all_windows_over(uint8_t leader) {
    uint8_t i;
    for (i = 0; i < BOARD_PADS; ++i) {
        if (pads[i].leader == leader && pads[i].stage == RISEN) return false;
    }
    return true;
}

static void report(uint8_t leader, struct rig_time now) {
    struct event event;
    uint8_t strongest = leader;
    uint8_t members = 0;
    uint8_t i;
    for (i = 0; i < BOARD_PADS; ++i) {
        if (pads[i].stage != DECIDING || pads[i].leader != leader) continue;
        members |= (uint8_t)(1U << i);
        if (pads[i].peak > pads[strongest].peak ||
            (pads[i].peak == pads[strongest].peak && (int32_t)(pads[i].at - pads[strongest].at) < 0)) {
            strongest = i;
        }
    }
    for (i = 0; i < BOARD_PADS; ++i) {
        if ((members & (1U << i)) != 0) pads[i].stage = DEAF;
    }
    event.type = WIRE_PAD_HIT;
    event.time = time_of(pads[strongest].at, now);
    event.as.hit.pad = strongest;
    event.as.hit.peak = pads[strongest].peak;
    event.as.hit.echoes = (uint8_t)(members & ~(1U << strongest));
    events_add(&event);
}

static void follow(uint8_t pad, uint32_t now) {
    const uint32_t since = now - pads[pad].at;
    if (pads[pad].stage == RISEN) {
        /* The stamp lies half a round of conversions before the sample that crossed: never negative. */
        if (since >= settings()->window[pad] * (uint32_t)TICKS_PER_TENTH_MS) {
            pads[pad].peak = board_pad_take_top(pad);
            if (pads[pad].peak > pads[pad].level) pads[pad].level = pads[pad].peak;
            pads[pad].stage = DECIDING;
        } else {
            board_work_again();
        }
    } else if (pads[pad].stage == DEAF) {
        if (since >= settings()->refractory[pad] * (uint32_t)TICKS_PER_MS &&
            board_pad_level(pad) < settings()->threshold[pad] - settings()->threshold[pad] / 4) {
            pads[pad].stage = QUIET;
            restless &= (uint8_t) ~(1U << pad);
            board_pad_arm(pad);
        }
    }
}

static void follow_noise(uint32_t now) {
    uint8_t i;
    if (now - noise_at < NOISE_TICKS_MS * (uint32_t)TICKS_PER_MS) return;
    noise_at = now;
    for (i = 0; i < BOARD_PADS; ++i) {
        if (pads[i].stage == QUIET) pads[i].noise += board_pad_level(i) - (pads[i].noise >> NOISE_SHIFT);
    }
}

static void decide(uint32_t now) {
    const uint32_t reach = settings()->crosstalk * (uint32_t)TICKS_PER_MS;
    uint8_t i;
    for (i = 0; i < BOARD_PADS; ++i) {
        if (!pending(i) || pads[i].leader != i) continue;
        if (now - pads[i].at > reach + STRAGGLERS && all_windows_over(i)) report(i, board_time());
    }
}

void pads_run(void) {
    uint32_t now;
    uint8_t i;
    take_crossings();
    now = board_stamp();
    if (restless != 0) {
        for (i = 0; i < BOARD_PADS; ++i) follow(i, now);
        decide(now);
    }
    follow_noise(now);
}

void pads_level(uint8_t pad, uint16_t* level, uint16_t* noise) {
    const uint16_t top = pads[pad].stage == RISEN ? board_pad_top(pad) : board_pad_take_top(pad);
    *level = top > pads[pad].level ? top : pads[pad].level;
    pads[pad].level = 0;
    *noise = (uint16_t)(pads[pad].noise >> NOISE_SHIFT);
}
