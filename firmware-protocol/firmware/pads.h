/* Pads: from crossings to hits (PROTOCOL.md, section 8). Main program only; call pads_run() often.
 *
 * A crossing opens a window in which the peak is searched. Crossings within the crosstalk time of the first belong to
 * one blow; when all their windows are over, the strongest is reported and names the others as its echoes.
 */
#ifndef RIG_PADS_H
#define RIG_PADS_H

#include <stdbool.h>
#include <stdint.h>

void pads_start(void);
void pads_run(void);
/* The largest level since the last call for this pad, and the noise floor. */
void pads_level(uint8_t pad, uint16_t* level, uint16_t* noise);

#endif
