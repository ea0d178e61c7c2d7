// What a term says, in words that a parent understands: no p-values, no variances, no rank. Pure; any thread; cannot
// fail.
#pragma once

#include <string>

#include "core/progress/athlete_term.hpp"

namespace breakstep {

struct Headline {
    std::string claim;   ///< "Heron now meets the drop on time 7 times in 10, up from 4 when the term began."
    std::string beside;  ///< "That is more than the ups and downs from one evening to the next."
};

/// `name` as the athlete is shown.
[[nodiscard]] Headline headline(const progress::AthleteTerm& term, const std::string& name);
/// By how much, against what scatter, from how much: for the coach. "" without a line.
[[nodiscard]] std::string evidence(const progress::Followed& followed);
/// "drop, front-hand, closed" and ", test" where it is one.
[[nodiscard]] std::string cell_words(const progress::Cell& cell);
/// Which answers carry the athlete: "carried by the drop (31 of 40); the lift not yet (4 of 22)". "no answer stands out
/// yet" unless two 95 % intervals lie apart; "" without any reps.
[[nodiscard]] std::string answers_words(const progress::AthleteTerm& term);
/// "31 of 40".
[[nodiscard]] std::string share_words(const progress::Share& share);

}  // namespace breakstep
