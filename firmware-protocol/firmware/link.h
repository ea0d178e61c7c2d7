/* The line's two directions: frames from the host are answered, events are sent as they happen (PROTOCOL.md, sections 5
 * to 7 and 13). Main program only; call link_run() often. Nothing waits here but the last 300 us before a ping's reply.
 */
#ifndef RIG_LINK_H
#define RIG_LINK_H

#include <stdbool.h>

#include "clock.h"

void link_run(struct rig_time now);
/* A host has acknowledged this boot. */
bool link_has_leave(void);

#endif
