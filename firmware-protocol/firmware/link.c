#include "link.h"

#include "board.h"
#include "events.h"
#include "gates.h"
#include "identity.h"
#include "lamps.h"
#include "pads.h"
#include "settings.h"
#include "wire/wire.h"

/* A frame is begun only if it fits whole. Events leave room for one answer behind them, so that answers, which make
 * room for the next request, are never starved. */
enum { ROOM_FOR_ANSWER = WIRE_FRAME_MAX, ROOM_FOR_EVENT = 2 * WIRE_FRAME_MAX };
enum { HELLO_MS = 500, PAD_LEVEL_MS = 50, PING_DELAY_TICKS = 2 * TICKS_PER_MS };
/* From the decision to reply until the reply's frame is built, with every interrupt in the way. */
enum { BUILD_TICKS = 800 };
enum { PINGS = 2, RESENDS = 4, MESSAGES_A_TURN = 4 };
/* hello, a channel for each pad, gate, lamp and the sync input, snapshot */
enum { GREETING_STEPS = 1 + BOARD_PADS + BOARD_GATES + BOARD_LAMPS + 1 + 1 };

static struct wire_receiver receiver;
static bool leave;
static uint16_t sent_through; /* events up to here are not sent unasked any more */
static uint8_t greeting = GREETING_STEPS;
static uint32_t hello_at;
static bool greeted;
static bool levels_on;
static uint32_t level_at;
static uint8_t level_pad;
static struct {
    uint16_t id;
    struct rig_time received;
    uint32_t due;
} pings[PINGS];
static uint8_t pings_waiting;
static struct {
    uint16_t next;
    uint8_t left;
} resends[RESENDS];
static uint8_t resends_waiting;
static uint16_t frames_rejected, resent, send_blocked;
static bool blocked;

bool link_has_leave(void) { return leave; }

static void count(uint16_t* counter) {
    if (*counter != 65535U) ++*counter;
}

static void send(const struct wire_message* message) {
    uint8_t frame[WIRE_FRAME_MAX];
    board_send(frame, (uint8_t)wire_encode_frame(message, frame));
}

/* ---- greeting ---- */

static uint8_t gate_role(uint8_t gate) {
    static const uint8_t solo[BOARD_GATES] = {WIRE_GATE_NEAR, WIRE_GATE_LINE, WIRE_GATE_HIP, WIRE_GATE_FAR,
                                              WIRE_GATE_BACK, WIRE_GATE_PARTNER_BACK};
    return gate == 1 && board_partner() ? WIRE_GATE_LOW : solo[gate];
}

static void send_hello(void) {
    struct wire_message message;
    message.type = WIRE_HELLO;
    message.as.hello.version_major = WIRE_VERSION_MAJOR;
    message.as.hello.version_minor = WIRE_VERSION_MINOR;
    message.as.hello.board = identity_board();
    message.as.hello.boot = identity_boot();
    message.as.hello.pads = BOARD_PADS;
    message.as.hello.gates = BOARD_GATES;
    message.as.hello.lamps = BOARD_LAMPS;
    message.as.hello.syncs = 1;
    message.as.hello.newest = events_newest();
    message.as.hello.oldest_kept = events_oldest_kept();
    send(&message);
}

static void send_channel(uint8_t number) {
    struct wire_message message;
    message.type = WIRE_CHANNEL;
    message.as.channel.flags = 0;
    if (number < BOARD_PADS) {
        message.as.channel.kind = WIRE_KIND_PAD;
        message.as.channel.role = number;
        message.as.channel.bound_ticks = BOARD_PAD_BOUND;
    } else if ((number = (uint8_t)(number - BOARD_PADS)) < BOARD_GATES) {
        message.as.channel.kind = WIRE_KIND_GATE;
        message.as.channel.role = gate_role(number);
        message.as.channel.bound_ticks = board_gate_bound(number);
        /* Alone, the attack line is a choice, and the hip gate's socket stays empty. */
        if (!board_partner() && (number == 1 || number == 2)) message.as.channel.flags = WIRE_CHANNEL_OPTIONAL;
        /* Behind a partner a gate is a choice, and alone there is none. */
        if (number == 5) message.as.channel.flags = WIRE_CHANNEL_OPTIONAL;
    } else if ((number = (uint8_t)(number - BOARD_GATES)) < BOARD_LAMPS) {
        message.as.channel.kind = WIRE_KIND_LAMP;
        message.as.channel.role = number;
        message.as.channel.bound_ticks = BOARD_LAMP_BOUND;
    } else {
        number = 0;
        message.as.channel.kind = WIRE_KIND_SYNC;
        message.as.channel.role = 0;
        message.as.channel.flags = WIRE_CHANNEL_OPTIONAL;
        message.as.channel.bound_ticks = BOARD_SYNC_BOUND;
    }
    message.as.channel.index = number;
    send(&message);
}

static void send_snapshot(void) {
    struct wire_message message;
    message.type = WIRE_SNAPSHOT;
    message.as.snapshot.time = ticks_of(board_time());
    message.as.snapshot.gates_broken = gates_broken();
    message.as.snapshot.lamps_lit = lamps_lit();
    message.as.snapshot.newest = events_newest();
    send(&message);
}

static void greet_some(uint32_t now) {
    if (!leave && (!greeted || now - hello_at >= HELLO_MS * (uint32_t)TICKS_PER_MS)) {
        greeted = true;
        hello_at = now;
        greeting = 0;
    }
    while (greeting < GREETING_STEPS && board_send_room() >= ROOM_FOR_ANSWER) {
        if (greeting == 0) {
            send_hello();
        } else if (greeting == GREETING_STEPS - 1) {
            send_snapshot();
        } else {
            send_channel((uint8_t)(greeting - 1));
        }
        ++greeting;
    }
    if (greeting < GREETING_STEPS) board_work_again();
}

/* ---- what the host asks ---- */

static void take_ping(uint16_t id, uint32_t at, struct rig_time now) {
    if (pings_waiting == PINGS) return;
    pings[pings_waiting].id = id;
    pings[pings_waiting].received = time_of(at, now);
    pings[pings_waiting].due = stamp_of(now) + (uint16_t)(((uint32_t)random_16() * PING_DELAY_TICKS) >> 16);
    ++pings_waiting;
}

static void take_acknowledge(uint16_t through) {
    if (!leave) {
        leave = true;
        sent_through = events_newest();
    }
    events_acknowledge(through);
}

static void take_resend(uint16_t first, uint8_t how_many) {
    if (!leave || how_many == 0 || resends_waiting == RESENDS) return;
    resends[resends_waiting].next = first;
    resends[resends_waiting].left = how_many;
    ++resends_waiting;
}

static void answer_setting(struct wire_message* message) {
    const uint8_t key = message->as.setting.key, index = message->as.setting.index;
    message->as.setting.status = message->type == WIRE_SETTING_SET
                                     ? settings_set(key, index, &message->as.setting.value)
                                     : settings_get(key, index, &message->as.setting.value);
    message->type = WIRE_SETTING_VALUE;
    send(message);
}

static void answer_counters(struct wire_message* message) {
    uint16_t* const values = message->as.counters.values;
    message->type = WIRE_COUNTERS;
    values[WIRE_COUNT_FRAMES_REJECTED] = frames_rejected;
    values[WIRE_COUNT_RECEIVE_OVERRUN] = board_receive_overrun();
    values[WIRE_COUNT_RESENT] = resent;
    values[WIRE_COUNT_OVERWRITTEN] = events_overwritten();
    values[WIRE_COUNT_WATCHDOG] = identity_watchdog_resets();
    values[WIRE_COUNT_GATE_BOUNCES] = gates_bounces();
    values[WIRE_COUNT_SEND_BLOCKED] = send_blocked;
    send(message);
}

static void answer_lamp_order(struct wire_message* message) {
    const uint16_t order = message->as.lamp_order.order;
    if (message->as.lamp_order.boot != identity_boot()) return;
    if (lamps_order(order, message->as.lamp_order.at, message->as.lamp_order.affected, message->as.lamp_order.lit) !=
        LAMPS_ACCEPTED) {
        return;
    }
    message->type = WIRE_LAMP_ACCEPTED;
    message->as.lamp_accepted.boot = identity_boot();
    message->as.lamp_accepted.order = order;
    send(message);
}

static void take(struct wire_message* message, uint32_t at) {
    switch (message->type) {
        case WIRE_HELLO_REQUEST:
            greeting = 0;
            levels_on = false;
            break;
        case WIRE_PING:
            take_ping(message->as.ping.id, at, board_time());
            break;
        case WIRE_ACKNOWLEDGE:
            if (message->as.acknowledge.boot == identity_boot()) take_acknowledge(message->as.acknowledge.through);
            break;
        case WIRE_RESEND:
            if (message->as.resend.boot != identity_boot()) break;
            take_resend(message->as.resend.first, message->as.resend.count);
            break;
        case WIRE_LAMP_ORDER:
            answer_lamp_order(message);
            break;
        case WIRE_LAMP_CANCEL:
            if (message->as.lamp_cancel.boot == identity_boot()) lamps_cancel(message->as.lamp_cancel.order);
            break;
        case WIRE_SETTING_SET:
        case WIRE_SETTING_GET:
            answer_setting(message);
            break;
        case WIRE_COUNTERS_REQUEST:
            answer_counters(message);
            break;
        case WIRE_LEVELS:
            levels_on = message->as.levels.on == 1;
            level_at = board_stamp();
            break;
        default: /* from another rig, or this one's own echo */
            break;
    }
}

/* A few messages a turn: sensors and events come in between. */
static void receive_some(void) {
    struct board_byte byte;
    uint8_t messages = 0;
    while (board_send_room() >= ROOM_FOR_ANSWER && board_receive(&byte)) {
        struct wire_message message;
        const enum wire_received what = wire_receive(&receiver, byte.value, &message);
        if (what == WIRE_RECEIVED_DAMAGED) count(&frames_rejected);
        if (what != WIRE_RECEIVED_MESSAGE) continue;
        take(&message, byte.at);
        if (++messages == MESSAGES_A_TURN) {
            board_work_again();
            return;
        }
    }
}

/* ---- what goes out unasked, and the second time ---- */

static void send_events(void) {
    while (leave && sent_through != events_newest()) {
        struct wire_message message;
        if (board_send_room() < ROOM_FOR_EVENT) {
            if (!blocked) count(&send_blocked);
            blocked = true;
            return;
        }
        blocked = false;
        ++sent_through;
        if (events_get(sent_through, &message)) send(&message);
    }
}

static void send_overwritten(uint16_t first, uint16_t last) {
    struct wire_message message;
    message.type = WIRE_OVERWRITTEN;
    message.as.overwritten.first = first;
    message.as.overwritten.last = last;
    send(&message);
}

/* One step of the first resend that waits: all that is gone at once, or one event. */
static void resend_one(void) {
    struct wire_message message;
    const uint16_t next = resends[0].next;
    const uint16_t gone = (uint16_t)(events_oldest_kept() - next); /* that many from `next` on are gone, if not huge */
    uint8_t i;
    if (resends[0].left != 0 && gone != 0 && gone < 32768U) {
        const uint8_t those = gone < resends[0].left ? (uint8_t)gone : resends[0].left;
        send_overwritten(next, (uint16_t)(next + those - 1U));
        resends[0].next = (uint16_t)(next + those);
        resends[0].left = (uint8_t)(resends[0].left - those);
        return;
    }
    if (resends[0].left != 0 && events_get(next, &message)) {
        send(&message);
        count(&resent);
        ++resends[0].next;
        --resends[0].left;
        return;
    }
    --resends_waiting; /* done, or the rest does not exist yet */
    for (i = 0; i < resends_waiting; ++i) resends[i] = resends[i + 1];
}

static void resend_some(void) {
    while (resends_waiting != 0 && board_send_room() >= ROOM_FOR_EVENT) resend_one();
}

/* Late perhaps by the time the frame takes to build, never early: the frame names a moment a little ahead and is
 * started then. Everything up to the newest event has been handed over, and the line is idle. */
static void reply(void) {
    struct wire_message message;
    uint8_t frame[WIRE_FRAME_MAX];
    uint16_t ahead = BUILD_TICKS;
    struct rig_time at;
    uint8_t size;
    message.type = WIRE_PING_REPLY;
    message.as.ping_reply.id = pings[0].id;
    message.as.ping_reply.boot = identity_boot();
    message.as.ping_reply.received = ticks_of(pings[0].received);
    message.as.ping_reply.newest = events_newest();
    for (;;) {
        at = time_after(board_time(), ahead);
        message.as.ping_reply.replied = ticks_of(at);
        size = (uint8_t)wire_encode_frame(&message, frame);
        if ((int32_t)(stamp_of(at) - board_stamp()) > 60 || ahead > 3 * BUILD_TICKS) break;
        ahead = (uint16_t)(ahead + BUILD_TICKS);
    }
    board_send_at(frame, size, stamp_of(at));
    pings[0] = pings[1];
    --pings_waiting;
}

static void send_levels(uint32_t now) {
    struct wire_message message;
    if (!levels_on || (int32_t)(now - level_at) < PAD_LEVEL_MS * (int32_t)TICKS_PER_MS / BOARD_PADS) return;
    level_at += PAD_LEVEL_MS * (uint32_t)TICKS_PER_MS / BOARD_PADS;
    message.type = WIRE_PAD_LEVEL;
    message.as.pad_level.time = ticks_of(board_time());
    message.as.pad_level.pad = level_pad;
    pads_level(level_pad, &message.as.pad_level.level, &message.as.pad_level.noise);
    level_pad = (uint8_t)((level_pad + 1) % BOARD_PADS);
    if (board_send_room() >= ROOM_FOR_ANSWER) send(&message);
}

void link_run(struct rig_time now) {
    const uint32_t stamp = stamp_of(now);
    send_events();
    receive_some();
    resend_some();
    if (pings_waiting != 0 && (int32_t)(stamp - pings[0].due) >= 0) {
        /* Nothing new but events goes out until the line is idle and the reply has its turn. */
        if (board_send_idle() && (!leave || sent_through == events_newest())) {
            reply();
        } else {
            board_work_again();
            return;
        }
    }
    /* So near to a reply the loop does not sleep: the wait is to end when it was drawn to end, not at the next tick. */
    if (pings_waiting != 0 && (int32_t)(pings[0].due - stamp) < TICKS_PER_MS) board_work_again();
    greet_some(stamp);
    send_levels(stamp);
}
