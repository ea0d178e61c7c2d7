#include "lamps.h"

#include "board.h"
#include "events.h"

enum { PLACES = 16, DECIDED = 16, EVERY_ORDER = 65535U };
enum { TOO_SOON = TICKS_PER_MS };
#define TOO_FAR 120000000ULL

enum place_state { FREE, WAITING, CARRIED_OUT };

struct place {
    uint32_t at; /* when it is to happen, then when it did */
    uint16_t order;
    uint8_t affected, lit; /* `lit`, once carried out: all lamps as they were afterwards */
    uint8_t state;
};

/* Shared with the interrupt: touched by the main program only while board_lock() holds. */
static volatile struct place places[PLACES];
static volatile uint8_t line[PLACES];
static volatile uint8_t line_length;
static volatile uint8_t lit_now;

static uint8_t lit_told;
static struct {
    uint16_t order;
    bool accepted;
} decided[DECIDED];
static uint8_t decided_next;

uint8_t lamps_lit(void) { return lit_told; }

/* Interrupt, or locked. */
static void arm_first(void) {
    uint32_t at;
    if (line_length == 0) {
        board_alarm_off();
        return;
    }
    at = places[line[0]].at;
    if (at - board_stamp_locked() < BOARD_ALARM_REACH) {
        board_alarm(at);
    } else {
        board_alarm_off();
    }
}

static void take_from_line(uint8_t position) {
    uint8_t i;
    --line_length;
    for (i = position; i < line_length; ++i) line[i] = line[i + 1];
}

static void carry_out_first(void) {
    volatile struct place* const place = &places[line[0]];
    lit_now = (uint8_t)((lit_now & ~place->affected) | (place->lit & place->affected));
    place->at = board_lamps(lit_now);
    place->lit = lit_now;
    place->state = CARRIED_OUT;
    take_from_line(0);
}

void lamps_on_alarm(void) {
    /* An alarm may be left over from an order that was taken back: then the first one is not due. */
    if (line_length != 0) {
        board_hold_until(places[line[0]].at);
        while (line_length != 0 && (int32_t)(places[line[0]].at - board_stamp_locked()) <= 0) carry_out_first();
    }
    arm_first();
    board_work_again();
}

/* Orders that are due though no alarm came for them (two of them closer than the alarm can be set) are carried out
 * here. */
static void catch_up(void) {
    board_lock();
    while (line_length != 0 && (int32_t)(places[line[0]].at - board_stamp_locked()) <= 0) carry_out_first();
    arm_first();
    board_unlock();
}

static void tell_carried_out(void) {
    for (;;) {
        struct event event;
        struct rig_time now;
        uint8_t first = PLACES;
        uint8_t i;
        for (i = 0; i < PLACES; ++i) {
            if (places[i].state != CARRIED_OUT) continue;
            if (first == PLACES || (int32_t)(places[i].at - places[first].at) < 0) first = i;
        }
        if (first == PLACES) return;
        now = board_time();
        event.type = WIRE_LAMPS_SET;
        event.time = time_of(places[first].at, now);
        event.as.lamp.order = places[first].order;
        event.as.lamp.lit_or_reason = places[first].lit;
        places[first].state = FREE;
        lit_told = event.as.lamp.lit_or_reason;
        events_add(&event);
    }
}

void lamps_run(void) {
    catch_up();
    tell_carried_out();
}

static void decide(uint16_t order, bool accepted) {
    decided[decided_next].order = order;
    decided[decided_next].accepted = accepted;
    decided_next = (uint8_t)((decided_next + 1) % DECIDED);
}

static enum lamps_answer refuse(uint16_t order, uint8_t reason) {
    struct event event;
    decide(order, false);
    event.type = WIRE_LAMP_REFUSED;
    event.time = board_time();
    event.as.lamp.order = order;
    event.as.lamp.lit_or_reason = reason;
    events_add(&event);
    return LAMPS_REFUSED;
}

/* What is known of an order that comes again; false if it is new. */
static bool known(uint16_t order, enum lamps_answer* answer) {
    uint8_t i;
    for (i = 0; i < PLACES; ++i) {
        if (places[i].state != FREE && places[i].order == order) {
            *answer = LAMPS_ACCEPTED;
            return true;
        }
    }
    for (i = 0; i < DECIDED; ++i) {
        if (decided[i].order == order) {
            *answer = decided[i].accepted ? LAMPS_ACCEPTED : LAMPS_IGNORED;
            return true;
        }
    }
    return false;
}

static void join_line(uint8_t place) {
    uint8_t position;
    board_lock();
    position = line_length++;
    while (position != 0 && (int32_t)(places[place].at - places[line[position - 1]].at) < 0) {
        line[position] = line[position - 1];
        --position;
    }
    line[position] = place;
    places[place].state = WAITING;
    if (position == 0) arm_first();
    board_unlock();
}

enum lamps_answer lamps_order(uint16_t order, uint64_t at, uint8_t affected, uint8_t lit) {
    enum lamps_answer answer;
    uint64_t now;
    uint8_t place;
    if (order == 0 || order == EVERY_ORDER) return LAMPS_IGNORED;
    if (known(order, &answer)) return answer;
    if ((affected >> BOARD_LAMPS) != 0) return refuse(order, WIRE_REFUSED_NO_LAMP);
    now = ticks_of(board_time());
    if (at <= now + TOO_SOON) return refuse(order, WIRE_REFUSED_TOO_LATE);
    if (at - now > TOO_FAR) return refuse(order, WIRE_REFUSED_TOO_FAR);
    tell_carried_out(); /* frees their places */
    for (place = 0; place < PLACES && places[place].state != FREE; ++place) {
    }
    if (place == PLACES) return refuse(order, WIRE_REFUSED_QUEUE_FULL);
    places[place].at = (uint32_t)at;
    places[place].order = order;
    places[place].affected = affected;
    places[place].lit = lit;
    join_line(place);
    decide(order, true);
    return LAMPS_ACCEPTED;
}

/* Takes one order out of the line; PLACES if none fits. */
static uint8_t leave_line(uint16_t order) {
    uint8_t place = PLACES;
    uint8_t position;
    board_lock();
    for (position = 0; position < line_length; ++position) {
        if (order != EVERY_ORDER && places[line[position]].order != order) continue;
        place = line[position];
        places[place].state = FREE;
        take_from_line(position);
        if (position == 0) arm_first();
        break;
    }
    board_unlock();
    return place;
}

void lamps_cancel(uint16_t order) {
    struct event event;
    uint8_t place;
    event.type = WIRE_LAMP_CANCELLED;
    while ((place = leave_line(order)) != PLACES) {
        event.time = board_time();
        event.as.lamp.order = places[place].order;
        event.as.lamp.lit_or_reason = 0;
        events_add(&event);
    }
}
