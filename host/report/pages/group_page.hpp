// The coach's page of the whole group: a row an athlete in order of call-sign (never by result), the plan for the next
// weeks, and how many of the names are expected to be wrong. Two sheets and more where the group is large.
//
// Pure cairo, any thread that owns the context; never fails. Words as typed, in any script.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "core/progress/athlete_term.hpp"
#include "report/pages/sheet.hpp"

namespace breakstep::pages {

struct GroupRow {
    std::string call_sign;
    std::string next;  ///< "next: the gap between two techniques"
    progress::Claim claim{};
    std::string unclaimed;  ///< why nothing is claimed, in place of the claim's word; "" where something may be
    bool provisional = false;
    std::string measure;                           ///< "on time in the drop", "reaction_ms"
    std::optional<progress::Share> baseline, now;  ///< first and last three evenings
    std::string values;                            ///< "41 to 68 %", "287 to 251"; "" where there are none
    std::uint64_t evenings = 0, reps = 0;
};

struct PlanBlock {
    std::string when;  ///< "weeks 1 to 3"
    std::string what;  ///< "the gap"
    std::string why;
};

struct GroupPage {
    std::string club, term;
    std::string group;           ///< its name; empty where the athletes are of several
    std::vector<GroupRow> rows;  ///< in order of call-sign
    std::string expected_wrong;
    std::vector<PlanBlock> plan;  ///< at most six
    std::string plan_words;       ///< said above the plan, or in its place
    std::string footer;
};

[[nodiscard]] std::size_t group_sheets(const GroupPage& page);
/// `sheet` from 0.
void draw_group_page(cairo_t* cairo, const GroupPage& page, std::size_t sheet, Theme theme);

}  // namespace breakstep::pages
