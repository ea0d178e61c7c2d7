// Whether a terminal is some process's controlling terminal: a shell's, a login's, an editor's. A rig's never is
// (PROTOCOL.md 1: the rig opens a pty of its own), so such a terminal must not be taken for one.
//
// Reads /proc; any thread; a process that can't be read counts as none.
#pragma once

#include <sys/types.h>

namespace breakstep {

/// `terminal` as stat's st_rdev.
[[nodiscard]] bool controls_a_process(dev_t terminal);

}  // namespace breakstep
