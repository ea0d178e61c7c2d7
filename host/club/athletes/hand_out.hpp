// The store's results as tables and as JSON, a session at a time, so that a store of any size fits; and what the
// columns mean. Only of athletes who may be shown.
//
// Main thread. Writes to the stream that it is given; whether that took everything is its owner's to ask. Fails as the
// store does.
#pragma once

#include <iosfwd>
#include <optional>
#include <string>
#include <unordered_map>
#include <vector>

#include "store/kept.hpp"

namespace breakstep {

/// Who may be shown, and who is left out for want of consent.
struct Roster {
    std::unordered_map<std::uint64_t, Athlete> shown_ones;
    std::vector<Athlete> left_out;
    bool with_names = false;  ///< real names and notes too

    [[nodiscard]] const Athlete* find(std::optional<AthleteId> id) const;
    [[nodiscard]] bool leaves_out(std::optional<AthleteId> id) const;
};
[[nodiscard]] Expected<Roster> roster_of(const Kept& store, bool with_names);

/// CSV: `table` is reps, sessions or measures.
[[nodiscard]] Expected<void> write_table(const Kept& store, const Roster& roster, std::ostream& out,
                                         const std::string& table);
/// {"sessions": [{..., "reps": [...]}], "measures": [...]}, written as it goes.
[[nodiscard]] Expected<void> write_json(const Kept& store, const Roster& roster, std::ostream& out);
/// Every column of every table: its unit, and what it says.
[[nodiscard]] Expected<void> write_dictionary(std::ostream& out, bool json);

}  // namespace breakstep
