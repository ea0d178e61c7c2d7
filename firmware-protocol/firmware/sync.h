/* The sync input: a sound or a flash is many edges, told as one beginning and one end (PROTOCOL.md, section 10). Main
 * program only; call sync_run() often.
 */
#ifndef RIG_SYNC_H
#define RIG_SYNC_H

#include "clock.h"

void sync_run(struct rig_time now);

#endif
