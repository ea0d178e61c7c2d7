// A list of two people's acts as it stands in a CSV file, and who leads whom in it. Pure values; any thread.
#pragma once

#include <array>
#include <cstdint>
#include <iosfwd>
#include <string>
#include <string_view>

#include "core/error.hpp"
#include "core/leading/who_leads.hpp"

namespace breakstep {

struct LeadsResult {
    leading::WhoLeads bout;
    std::array<std::uint64_t, 2> rows{};  ///< of a and of b
    std::array<bool, 2> keeps_a_beat{};   ///< the tempo test of their own intervals has told
};

/// `file` is what messages call the text. Fails (bad_input) with line and column, and for a list without an act.
[[nodiscard]] Expected<LeadsResult> leads_from_list(std::string_view text, const std::string& file);

/// As a coach says it. `details` adds each direction's figures, and what can't be excluded.
[[nodiscard]] std::string leads_words(const LeadsResult& result, bool details);
/// {"a_follows_b": {"tell", "hunch", "tell_at", "e", "x", "ln_e", "ln_x", "lag_s", "hits", "of", "chance"},
///  "b_follows_a": the same}
[[nodiscard]] std::string leads_json(const LeadsResult& result);

/// How often it claims what is not so, and how soon it speaks, in invented bouts, as Markdown.
void print_leads_table(std::ostream& out, std::uint32_t bouts, std::uint64_t seed);

}  // namespace breakstep
