/* The rig's clock: 48 bits of half microseconds since the boot, kept as the timer's 16 bits and 32 bits of overflows.
 */
#ifndef RIG_CLOCK_H
#define RIG_CLOCK_H

#include <stdint.h>
#include <string.h>

struct rig_time {
    uint16_t low;
    uint32_t high;
};

enum { TICKS_PER_MS = 2000, TICKS_PER_TENTH_MS = 200 };

static inline uint32_t stamp_of(struct rig_time time) { return ((uint32_t)(uint16_t)time.high << 16) | time.low; }

/* The whole time of a stamp that lies before `now`, by 15 minutes at most. */
static inline struct rig_time time_of(uint32_t stamp, struct rig_time now) {
    struct rig_time time;
    time.low = (uint16_t)stamp;
    time.high = now.high - (uint16_t)((uint16_t)now.high - (uint16_t)(stamp >> 16));
    return time;
}

static inline struct rig_time time_after(struct rig_time time, uint16_t ticks) {
    time.low = (uint16_t)(time.low + ticks);
    if (time.low < ticks) ++time.high;
    return time;
}

/* 64-bit shifts are long on an 8-bit controller; there the struct's bytes already stand in the right order. */
static inline uint64_t ticks_of(struct rig_time time) {
#ifdef __AVR__
    uint64_t ticks = 0;
    memcpy(&ticks, &time, 6);
    return ticks;
#else
    return ((uint64_t)time.high << 16) | time.low;
#endif
}

#endif
