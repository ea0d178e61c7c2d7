// What a term says, in words that a parent understands: no p-values, no variances, no rank. Pure; any thread; cannot
// fail.
#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <string>
#include <vector>

#include "core/progress/athlete_term.hpp"
#include "core/progress/group_plan.hpp"
#include "core/progress/next_drill.hpp"

namespace breakstep {

struct Headline {
    std::string claim;   ///< "Heron now meets the drop on time 7 times in 10, up from 4 when the term began."
    std::string beside;  ///< "That is more than the ups and downs from one evening to the next."
};

/// Who reads it: the coach may mend a setting; a child (under 15) takes no falling number home.
enum class Reader : std::uint8_t { coach, home, child };

/// `name` as the athlete is shown.
[[nodiscard]] Headline headline(const progress::AthleteTerm& term, const std::string& name, Reader reader);
/// The claimed measure is further from better now than at first, by however little.
[[nodiscard]] bool has_fallen(const progress::AthleteTerm& term);

/// Who of the group is named as changed, and how many of the names are expected to be wrong: `progress` and the group's
/// page both say this.
struct GroupChanges {
    std::vector<std::size_t> improved, worse;  ///< AthleteTerm::athlete of each, in the terms' order
    std::size_t told = 0;                      ///< athletes of whom anything could be told
    double expected_wrong = 0;
};
[[nodiscard]] GroupChanges group_changes(std::span<const progress::AthleteTerm> terms);
/// "3 improved, 1 the other way, the others not clearly changed. Of these 4 names about 0.1 are expected to be wrong by
/// chance."
[[nodiscard]] std::string group_words(const GroupChanges& changes);
/// By how much, against what scatter, from how much: for the coach. "" without a line.
[[nodiscard]] std::string evidence(const progress::Followed& followed);
/// "drop, front-hand, closed" and ", test" where it is one.
[[nodiscard]] std::string cell_words(const progress::Cell& cell);
/// Which answers carry the athlete: "most often on time: the drop (31 of 40); next to
/// learn: the lift (4 of 22)". "no answer stands out
/// yet" unless two 95 % intervals lie apart; "" without any reps.
[[nodiscard]] std::string answers_words(const progress::AthleteTerm& term);
/// How the group's plan is ordered where the coach has not said, with how many reps and athletes it asks for.
[[nodiscard]] std::string plan_order_words();
/// "4 athletes on time 29 in 100 on average, 65 of 224", of the last four weeks.
[[nodiscard]] std::string plan_reason(const progress::PlanBlock& block);
/// "passed on 6 October: on time 21 of 28 over 3 evenings; the mark is 50 of 100 ...".
[[nodiscard]] std::string rung_words(const progress::RungStanding& rung);
/// For the coach alone: what could be offered, or decided; "" for nothing. `call_sign` as it is typed.
[[nodiscard]] std::string offer_words(const progress::NextDrill& next, const std::string& call_sign);
/// "31 of 40".
[[nodiscard]] std::string share_words(const progress::Share& share);

}  // namespace breakstep
