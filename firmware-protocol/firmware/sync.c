#include "sync.h"

#include "board.h"
#include "events.h"

enum { SILENCE_MS = 10 };

static bool sounding;
static uint32_t last_edge;

static void report(bool rising, uint32_t at, struct rig_time now) {
    struct event event;
    event.type = WIRE_SYNC_EDGE;
    event.time = time_of(at, now);
    event.as.rising = rising;
    events_add(&event);
    sounding = rising;
}

void sync_run(struct rig_time now) {
    const struct board_sync edges = board_take_sync();
    if (edges.any) {
        if (sounding && edges.first - last_edge >= SILENCE_MS * (uint32_t)TICKS_PER_MS)
            report(false, last_edge, board_time());
        if (!sounding) report(true, edges.first, board_time());
        last_edge = edges.last;
    } else if (sounding &&
               (int32_t)(stamp_of(now) - last_edge) >= SILENCE_MS * (int32_t)TICKS_PER_MS + TICKS_PER_TENTH_MS) {
        report(false, last_edge, now);
    }
}
