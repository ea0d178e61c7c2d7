// A list of counted reps as it stands in a CSV file, and what the ladder makes of it. Pure values; any thread.
#pragma once

#include <cstdint>
#include <iosfwd>
#include <string>
#include <string_view>
#include <vector>

#include "core/ladder/rung.hpp"

namespace breakstep {

struct RungEvening {
    std::string name;
    std::uint64_t on_time = 0, reps = 0;
    double log_wealth = 0, log_step_down_wealth = 0;  ///< at its end
};

struct RungResult {
    ladder::Rung rung;
    std::vector<RungEvening> evenings;
};

/// `file` is what messages call the text. Fails (bad_input) with line and column, for a list without a rep, and for a
/// mark that no rung can have.
[[nodiscard]] Expected<RungResult> rung_from_list(std::string_view text, const std::string& file, double mark);

/// As a coach reads it: a line an evening, then the sentence. `details` adds wealths and promises.
[[nodiscard]] std::string rung_words(const RungResult& result, bool details);
/// {"wealth", "step_down_wealth", "passed_at", "step_down_at", "mark", "reps", "on_time", "evenings"}
[[nodiscard]] std::string rung_json(const RungResult& result);

/// How often a rung is passed by luck and how soon it speaks, on invented athletes, as Markdown.
void print_rung_table(std::ostream& out, std::uint32_t athletes, std::uint64_t seed);

}  // namespace breakstep
