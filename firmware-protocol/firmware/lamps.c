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

/* Shared with the interrupt: touched by the main program only while board_lock() holds. The line is kept with the first
 * to come at its end, so that the interrupt takes it off without moving the others. */
static volatile struct place places[PLACES];
static volatile uint8_t line[PLACES];
static volatile uint8_t line_length;
static volatile uint8_t lit_now;
static volatile bool armed;
static volatile uint32_t armed_for;
static volatile bool untold; /* something was carried out since it was told last */

static uint8_t lit_told;
static uint16_t decided[DECIDED];
static uint16_t decided_accepted; /* bit i: decided[i] was accepted */
static uint8_t decided_next;

uint8_t lamps_lit(void) { return lit_told; }

static volatile struct place* first_in_line(void) { return &places[line[line_length - 1]]; }

/* An alarm that stands is left alone: setting it anew might lose it in the moment in which it comes. Interrupt, or
 * locked. */
static void arm_first(void) {
    if (line_length == 0) {
        if (armed) board_alarm_off();
        armed = false;
    } else if (!armed || armed_for != first_in_line()->at) {
        armed_for = first_in_line()->at;
        armed = board_alarm(armed_for);
        if (!armed) board_alarm_off();
    }
}

/* Carries out the first order if it is due within `margin` ticks; everything is at hand when its tick comes. */
static void carry_out_first(uint8_t margin) {
    volatile struct place* const place = first_in_line();
    const uint32_t at = place->at;
    const uint8_t affected = place->affected;
    const uint8_t lit = (uint8_t)((lit_now & ~affected) | (place->lit & affected));
    if ((int32_t)(at - board_stamp_locked()) > margin) return;
    board_hold_until(at - BOARD_LAMP_DELAY);
    place->at = board_lamps(lit);
    lit_now = lit;
    place->lit = lit;
    place->state = CARRIED_OUT;
    untold = true;
    --line_length;
}

/* One order an interrupt: edges and bytes get their turn before the next. The alarm may be left over from an order that
 * was taken back: then the first one is not due yet. */
void lamps_on_alarm(void) {
    armed = false;
    if (line_length != 0) carry_out_first(BOARD_HOLD_MOST);
    arm_first();
    board_work_again();
}

/* An order that comes within the alarm's reach is armed here; and whatever is due without an alarm is carried out. */
static void catch_up(void) {
    if (line_length == 0) return;
    board_lock();
    if (line_length != 0) carry_out_first(0); /* the interrupt may have come in between */
    arm_first();
    board_unlock();
}

static void tell_carried_out(void) {
    if (!untold) return;
    untold = false;
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
    const uint16_t bit = (uint16_t)(1U << decided_next);
    decided[decided_next] = order;
    decided_accepted = accepted ? decided_accepted | bit : decided_accepted & (uint16_t)~bit;
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
        if (decided[i] == order) {
            *answer = (decided_accepted & (1U << i)) != 0 ? LAMPS_ACCEPTED : LAMPS_IGNORED;
            return true;
        }
    }
    return false;
}

static void join_line(uint8_t place) {
    uint8_t position = 0;
    uint8_t i;
    board_lock();
    /* Behind those of the same time that were accepted before: nearer to the line's beginning. */
    while (position < line_length && (int32_t)(places[place].at - places[line[position]].at) < 0) ++position;
    for (i = line_length; i > position; --i) line[i] = line[i - 1];
    line[position] = place;
    ++line_length;
    places[place].state = WAITING;
    arm_first();
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
        for (--line_length; position < line_length; ++position) line[position] = line[position + 1];
        arm_first();
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
