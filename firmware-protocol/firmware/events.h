/* Events kept until the host has them in safe keeping (PROTOCOL.md, section 6). Main program only.
 *
 * A ring: when it is full the oldest gives way, which is counted if the host had not acknowledged it. Nothing is sent
 * from here; link.c asks for what is due.
 */
#ifndef RIG_EVENTS_H
#define RIG_EVENTS_H

#include <stdbool.h>
#include <stdint.h>

#include "clock.h"
#include "wire/wire.h"

struct event {
    uint8_t type;
    struct rig_time time;
    union {
        struct {
            uint8_t pad;
            uint16_t peak;
            uint8_t echoes;
        } hit;
        uint8_t gate;
        uint8_t rising;
        struct {
            uint16_t order;
            uint8_t lit_or_reason;
        } lamp;
    } as;
};

void events_add(const struct event* event);
uint16_t events_newest(void);
uint16_t events_oldest_kept(void);
uint16_t events_overwritten(void); /* lost unacknowledged so far; stops at 65535 */
/* Through `through` they need not be kept any more; nonsense gives nothing up. */
void events_acknowledge(uint16_t through);
/* Fills a message with event `sequence`; false if it is gone or does not exist yet. */
bool events_get(uint16_t sequence, struct wire_message* out);

#endif
