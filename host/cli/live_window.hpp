// The main thread's part of a live run: what it may open, and the window while the engine's thread works. Main thread.
#pragma once

#include <functional>

#include "cli/commands.hpp"
#include "hall/drivers/live_cues.hpp"
#include "hall/drivers/live_driver.hpp"
#include "settings/settings.hpp"

namespace breakstep {

[[nodiscard]] LiveCues::Wanted wanted_cues(const CommonOptions& options, const Settings& settings);

/// Draws the window, if there is one, and takes its keys until `over` says so. Closing it stops the driver.
void serve_window(LiveCues& cues, LiveDriver& driver, const std::function<bool()>& over);

/// Goes on drawing what stands in a window that somebody can see, for so long at most: closing it or Esc ends it.
void linger(LiveCues& cues, Duration most);

}  // namespace breakstep
