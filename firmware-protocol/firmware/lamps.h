/* Lamps: orders that wait for their time (PROTOCOL.md, section 11). Main program only, but for lamps_on_alarm()
 * (board.h).
 *
 * Waiting orders stand in a line by time, then by acceptance. The interrupt carries out the first one and arms the
 * next; lamps_run() makes events of what was carried out and arms orders that came within the alarm's reach.
 */
#ifndef RIG_LAMPS_H
#define RIG_LAMPS_H

#include <stdint.h>

#include "clock.h"

enum lamps_answer { LAMPS_IGNORED, LAMPS_ACCEPTED, LAMPS_REFUSED };

/* A refusal has made its event. */
enum lamps_answer lamps_order(uint16_t order, uint64_t at, uint8_t affected, uint8_t lit);
void lamps_cancel(uint16_t order); /* 65535: all of them */
void lamps_run(void);
uint8_t lamps_lit(void); /* bit i: lamp i, as told in events so far */

#endif
