// An evening's store held against the truth that was planted in it: who struck which blow, who stood at the rig. And
// the evening's figures, out of the journals. Nothing of what the evening believed while it ran is asked.
//
// Pure but for reading the store; main thread. Fails as reading the store does.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "core/evening/evening_events.hpp"
#include "store/store.hpp"
#include "tools/simulated_hall.hpp"

namespace breakstep {

struct EveningFigures {
    std::int32_t athletes = 0, turns = 0, sets = 0, reps = 0;
    std::int32_t lost = 0;              ///< blows that no journal holds, and reps of sets that ended without them
    std::int32_t doubled = 0;           ///< blows that count twice
    std::int32_t given_to_another = 0;  ///< blows and sets that count for somebody who did not make them
    double rig_busy_share = 0;
    std::int32_t touches_by_coach = 0;  ///< the hall knows
    std::int32_t work_rest_broken = 0;
    double minutes_planned = 0, minutes_taken = 0;
    std::int32_t words_later = 0, words_silent = 0;
    std::vector<double> word_ms;   ///< of reps told at once, struck from toe-off - lead
    std::vector<double> click_ms;  ///< of every contact in a set
    std::int32_t subtitled = 0;    ///< reps that were struck, in the subtitles of the evening's film ...
    double subtitles_off_ms = 0;   ///< ... and the most that one's blow lay off its time
};

/// What was seen and heard, by whoever watched the outputs.
struct WordShown {
    SessionId session{};
    RepId rep{};
    HostTime drawn;
};
struct Witnessed {
    HostTime began;  ///< of the evening: its journal counts from there
    std::vector<PlantedStrike> strikes;
    std::vector<std::pair<HostTime, AthleteId>> stood;
    std::vector<WordShown> words;
    std::vector<HostTime> clicks;
};

[[nodiscard]] Expected<EveningFigures> audit_evening(const Store& store, EveningId evening, const Witnessed& seen);
/// Nearest rank; nothing of an empty list.
[[nodiscard]] std::optional<double> percentile(std::vector<double> values, double share);

}  // namespace breakstep
