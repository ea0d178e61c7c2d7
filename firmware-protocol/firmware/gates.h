/* Gates: from edges to broken and restored, debounced both ways (PROTOCOL.md, section 9). Main program only; call
 * gates_run() often.
 */
#ifndef RIG_GATES_H
#define RIG_GATES_H

#include <stdint.h>

void gates_start(void);
void gates_run(void);
/* As reported: bit i = gate i broken. */
uint8_t gates_broken(void);
uint16_t gates_bounces(void); /* edges swallowed; stops at 65535 */

#endif
