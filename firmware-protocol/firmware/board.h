/* All that the rig's program asks of a controller board. Another controller is one new file beside board_atmega328p.c.
 *
 * Everything here is called from the main program with interrupts on, except where a line says "interrupt". Stamps are
 * the low 32 bits of the rig's clock, in ticks of 0.5 us; they are compared by subtraction and stand for moments less
 * than 15 minutes away. No function waits for anything but board_wait() and board_send_at(). Nothing here can fail but
 * what says so; what is lost is counted.
 */
#ifndef RIG_BOARD_H
#define RIG_BOARD_H

#include <stdbool.h>
#include <stdint.h>

#include "clock.h"

/* Channels, in the order in which they are announced. */
enum { BOARD_PADS = 4, BOARD_GATES = 6, BOARD_LAMPS = 4 };

/* No stamp of these inputs is off by more than this, in ticks: see RIG.md, "How true the times are". */
enum {
    BOARD_PAD_BOUND = 160,
    BOARD_GATE_CAPTURE_BOUND = 4,
    BOARD_GATE_INTERRUPT_BOUND = 60,
    BOARD_SYNC_BOUND = 60,
    BOARD_LAMP_BOUND = 4
};
/* Worst case of gate `gate`. */
uint16_t board_gate_bound(uint8_t gate);

enum board_reset_cause { BOARD_POWERED, BOARD_RESET, BOARD_WATCHDOG };

void board_start(void); /* once, first; interrupts are on afterwards */
enum board_reset_cause board_reset_cause(void);
/* Some bits of noise from the sensors and the clock: never the same twice on a real board. */
uint32_t board_noise(void);
/* The switch on the box: true for a partner's gates, false for solo. Read at the start. */
bool board_partner(void);
/* A light that tells the builder that the program runs. */
void board_light(bool on);

/* Time. */
uint32_t board_stamp(void);
struct rig_time board_time(void);

/* Sleeps until an interrupt may have brought work. Keeps the watchdog quiet as long as the sensors are being read. */
void board_wait(void);
/* The next board_wait() returns at once. */
void board_work_again(void);

/* The line, 500000 baud, 8N1. */
struct board_byte {
    uint8_t value;
    uint32_t at; /* when it had come in; filled for zeros only. Late perhaps, never early */
};
bool board_receive(struct board_byte* byte);
uint16_t board_receive_overrun(void); /* bytes lost so far; stops at 65535 */
uint8_t board_send_room(void);
bool board_send_idle(void); /* also the last bit has gone */
/* There must be room. */
void board_send(const uint8_t* bytes, uint8_t size);
/* The first byte starts at `at` or a few us later, never earlier; the sender must be idle, `at` at most 2 ms ahead. */
void board_send_at(const uint8_t* bytes, uint8_t size, uint32_t at);

/* Pads: each is looked at every 60 us or so. A pad that is armed crosses when its level reaches the threshold; then it
 * is no longer armed. */
void board_pad_threshold(uint8_t pad, uint16_t threshold);
void board_pad_arm(uint8_t pad);
bool board_pad_armed(uint8_t pad);
/* Bit i: pad i has crossed, and that was not taken yet. */
uint8_t board_pads_crossed(void);
/* Takes it: when. */
uint32_t board_pad_take_crossing(uint8_t pad);
uint16_t board_pad_level(uint8_t pad);
/* The largest level since the pad was armed or since board_pad_take_top(). */
uint16_t board_pad_top(uint8_t pad);
/* The same, and starts over; not to be called between a crossing and the end of its window. */
uint16_t board_pad_take_top(uint8_t pad);

/* Gates. */
struct board_edge {
    uint8_t gate;
    bool broken; /* the state after the edge */
    uint32_t at;
};
/* In order of arrival. */
bool board_take_edge(struct board_edge* edge);
/* Edges that had no room or were over before they could be looked at, since the last call. */
uint8_t board_edges_missed(void);
/* The state of all gates, bit i = gate i broken. False while an edge is on its way: ask again. */
bool board_gates(uint8_t* broken);

/* The sync input: edges since the last call, with the first and the last of them. */
struct board_sync {
    bool any;
    uint32_t first, last;
};
struct board_sync board_take_sync(void);

/* Lamps. At an alarm's time, or a little before, lamps_on_alarm() is called from an interrupt; at once if it has
 * passed. False: more than 15 ms ahead, ask again later. From the interrupt, or with interrupts off. */
bool board_alarm(uint32_t at);
void board_alarm_off(void);
/* Implemented in lamps.c; interrupt. */
void lamps_on_alarm(void);
/* Sets all lamps at once (bit i = lamp i) and tells when; from the interrupt, or with interrupts off. */
uint32_t board_lamps(uint8_t lit);
/* Waits for `at` if it is so many ticks ahead or fewer; from the interrupt, or with interrupts off. */
enum { BOARD_HOLD_MOST = 56 };
/* From the end of that wait to the lamps' pins, ticks. */
enum { BOARD_LAMP_DELAY = 3 };
void board_hold_until(uint32_t at);
/* The time from within the interrupt, or with interrupts off. */
uint32_t board_stamp_locked(void);
void board_lock(void);   /* interrupts off ... */
void board_unlock(void); /* ... and on again: a few us at most */

/* Memory that outlasts switching off. Read only while it is not busy. */
enum { BOARD_MEMORY_SIZE = 1024 };
bool board_memory_busy(void);
uint8_t board_memory_read(uint16_t at);
void board_memory_write(uint16_t at, uint8_t value); /* busy for some ms afterwards; not called while it is */

#endif
