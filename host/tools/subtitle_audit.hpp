// Whether the subtitles of a simulated evening name each rep at its time in a film: held against when its blow really
// fell and when the flash was really on the screen. Main thread.
#pragma once

#include <vector>

#include "store/store.hpp"
#include "tools/simulated_hall.hpp"

namespace breakstep {

struct SubtitleFigures {
    std::int32_t reps = 0;  ///< struck, and told in the subtitles
    double worst_ms = 0;    ///< of them, the most that one's blow lay off
};

[[nodiscard]] Expected<SubtitleFigures> audit_subtitles(const Store& store, HostTime flash,
                                                        const std::vector<PlantedStrike>& strikes);

}  // namespace breakstep
