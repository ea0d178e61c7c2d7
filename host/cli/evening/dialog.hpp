// Questions before an evening, answered line by line, at the terminal or on the phone that commands. Main thread.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "cli/evening/asker.hpp"
#include "cli/evening/club_tonight.hpp"

namespace breakstep {

/// 1 .. most, or nothing.
[[nodiscard]] std::optional<std::size_t> number_in(const std::string& text, std::size_t most);
[[nodiscard]] std::vector<std::string> words_in(const std::string& line);
void list_drills_of(Asker& asker, const std::vector<Drill>& drills);
/// The same for a phone: each answers with its number, after `before`.
[[nodiscard]] std::vector<desk::Questions::Pick> drill_picks(const std::vector<Drill>& drills,
                                                             const std::string& before = {});

/// Everyone who was never asked, until it is answered. Of juniors a guardian decides, who is seldom in the hall.
void ask_for_consent(Asker& asker, Store& store);

/// Ticks: who is here, by number or call-sign. A call-sign that nobody has is asked about and then made. `group` "": of
/// all groups; else those of the group are ticked beforehand.
[[nodiscard]] Expected<std::vector<Athlete>> ask_who_is_here(Asker& asker, Store& store, const std::string& group,
                                                             IdSource& ids);

/// Each athlete's drill, from what comes next for them, and changed by the coach.
void ask_for_drills(Asker& asker, ClubTonight& club);

/// The blocks with the minutes they take; where something does not fit, what could be done, with the new total. Then
/// minutes and drills of blocks are changed until the coach says go.
[[nodiscard]] std::vector<evening::Block> ask_for_plan(Asker& asker, std::vector<evening::Block> blocks,
                                                       const ClubTonight& club);

}  // namespace breakstep
