/* Who this board is, and which of its runs this is. Main program only; identity_start() once, at the start: it may take
 * some 60 ms, as it writes to the board's memory.
 */
#ifndef RIG_IDENTITY_H
#define RIG_IDENTITY_H

#include <stdint.h>

void identity_start(void);
uint64_t identity_board(void);           /* made up from noise at the very first start, then the same for ever */
uint32_t identity_boot(void);            /* never 0; from a stored count, scrambled with the identity and with noise */
uint16_t identity_watchdog_resets(void); /* over all runs; stops at 65534 */
/* Uniform, 16 bits: xorshift, started from the boot id. */
uint16_t random_16(void);

#endif
