// What a session brought beside its verdicts: beats set and broken, the way out, the attack line, second strikes, the
// athlete's own calls, what drew the attacks, the level that followed. Counts, and the lines that say them.
//
// Pure values; any thread; can't fail.
#pragma once

#include <cstdint>
#include <map>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "core/progress/agreement.hpp"
#include "core/progress/athlete_term.hpp"
#include "core/score/score.hpp"

namespace breakstep {

struct BesideCounts {
    progress::Share followed, broken;  ///< of lures: the beat was readable; the athlete came ahead of it
    std::optional<Duration> ahead;     ///< of those broken, the mean: so far ahead of the expected step in
    progress::Share room;              ///< out in time and home in time, where no strike was asked for
    progress::Share out_in_time, off_line, followed_up, called_right;
    progress::Share edge;                          ///< met in time, of attacks at the edge to which the athlete led
    progress::Calls calls{};                       ///< early, on time, late: called, then seen
    std::map<DrewBy, progress::Share> drawn;       ///< on time, by what drew the attack
    std::optional<Duration> draw_to_answer;        ///< the mean, of answers on time
    progress::Share first, after;                  ///< on time, of a drill that asks for one or the other
    std::optional<double> narrowest, last_window;  ///< of a level that followed
    progress::Share standard;                      ///< on time at the drill's own level, of reps that count for a rung
};
/// `first_or_after`: the drill's attacks are the first and the second of those.
[[nodiscard]] BesideCounts beside_counts(std::span<const RepResult> reps, bool first_or_after);
/// "  beats           14 of 16 followed, 12 broken, 0.19 s ahead"; one line each, without an end.
[[nodiscard]] std::vector<std::string> beside_lines(const BesideCounts& counts);
/// Behind a rep's own line: ", stayed in reach", ", called early"; "" where there is nothing.
[[nodiscard]] std::string beside_rep(const RepResult& rep);

}  // namespace breakstep
