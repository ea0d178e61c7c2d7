/* The rig's program: reads pads and gates, lights lamps, and tells a host. See PROTOCOL.md for what it says and board.h
 * for what it runs on. One loop; interrupts only stamp and store.
 */
#include "board.h"
#include "gates.h"
#include "identity.h"
#include "lamps.h"
#include "link.h"
#include "pads.h"
#include "settings.h"
#include "sync.h"

/* The light blinks until a host has answered, then it stays on. */
static void show_life(struct rig_time now) { board_light(link_has_leave() || (now.high & 8U) != 0); }

int main(void) {
    board_start();
    identity_start();
    settings_load();
    pads_start();
    gates_start();
    for (;;) {
        struct rig_time now;
        board_wait();
        now = board_time();
        lamps_run();
        gates_run();
        pads_run();
        sync_run(now);
        link_run(now);
        settings_save_some(stamp_of(now));
        show_life(now);
    }
}
