// One evening on paper, for the coach: who trained, which drills, reps, on time with its interval, clashes, signs, and
// what was odd.
//
// In order of call-sign, then of time; never by result. Pure cairo, any thread that owns the context; never fails.
#pragma once

#include <string>
#include <vector>

#include "core/progress/athlete_term.hpp"
#include "report/pages/sheet.hpp"

namespace breakstep::pages {

/// One athlete's run of one drill, in one moment.
struct EveningRow {
    std::string call_sign;
    std::string drill;  ///< its title; "Test: ..." for a test
    std::string at;     ///< "18:40", and which moment where the drill asks for several
    std::uint64_t reps = 0;
    progress::Share on_time;  ///< of one moment: two are two rows
    progress::Share held;     ///< feints; none: of = 0
    std::uint64_t clashes = 0;
    std::string sign;    ///< "yes", "maybe", "no sign", "-" where rhythm wasn't read
    std::string odd;     ///< "2 void: link lost; cut off"; "" for nothing
    std::string read{};  ///< what the choices gave away: "yes, after two retreats you go, 8 of 9"; "" for nothing
};

struct EveningPage {
    std::string club, date;  ///< "Tuesday 3 November 2026"
    std::string summary;     ///< "9 athletes, 18 drills, 640 reps"
    std::vector<EveningRow> rows;
    std::vector<std::string> odd;          ///< of the whole evening, a line each
    std::vector<std::string> stood_out{};  ///< what a coach would have seen, a line for each athlete at most
    std::vector<std::string> next_week{};  ///< what to do with whom, a line for each athlete at most
    std::string footer;
};

[[nodiscard]] std::size_t evening_sheets(const EveningPage& page);
void draw_evening_page(cairo_t* cairo, const EveningPage& page, std::size_t sheet, Theme theme);

}  // namespace breakstep::pages
