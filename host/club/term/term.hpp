// A term out of the store: what every athlete's sessions and imported results say of them, in one reading.
//
// Main thread (the store's reading functions lock by themselves). Fails as the store's reading functions do. Names
// stand beside the figures, never in them: AthleteTerm::athlete is an index into `athletes`.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "core/error.hpp"
#include "core/progress/athlete_term.hpp"
#include "core/progress/squad.hpp"
#include "core/progress/term_fold.hpp"
#include "settings/settings.hpp"
#include "store/kept.hpp"

namespace breakstep {

struct TermOptions {
    bool end_of_term = false;  ///< the end-of-term rule; else claims are weekly looks, and provisional
    std::optional<std::int32_t> from_day, to_day;  ///< both inclusive, days since 1970-01-01; null: all there is
    progress::ClaimedMeasure claimed;              ///< what is claimed, fixed beforehand
    std::vector<progress::RungStandard> rungs;     ///< of the ladder: AthleteTerm::rungs are by these
    std::string today;  ///< ISO: whose consent does not hold on that day is left out; "" leaves nobody out
};

/// Growth of all athletes by one measure.
struct SquadOfMeasure {
    std::string measure;
    std::optional<progress::SquadFit> fit;  ///< days from the earliest of the measure; null: too little to tell
    std::int32_t first_day = 0;
    std::vector<std::size_t> athletes;  ///< index in Term::athletes of each of the fit's lines
};

struct Term {
    std::vector<Athlete> athletes;             ///< by call-sign
    std::vector<progress::AthleteTerm> terms;  ///< of the athletes with anything in these days, in the same order
    std::vector<Athlete> left_out;             ///< for want of consent
    std::vector<SquadOfMeasure> squads;        ///< "on-time rate" where tests allow, then imported measures by name
    std::int32_t first_day = 0, last_day = 0;
    bool end_of_term = false;

    [[nodiscard]] const Athlete& athlete(const progress::AthleteTerm& term) const { return athletes[term.athlete]; }
};

[[nodiscard]] Expected<Term> load_term(const Kept& store, const TermOptions& options);
/// From the settings' [progress] and [measures].
[[nodiscard]] TermOptions term_options(const Settings& settings);

/// The evening a moment belongs to, by this machine's calendar; until four in the morning it is still the day before's.
[[nodiscard]] std::int32_t evening_of(std::int64_t unix_seconds);
/// The rung that a coach put the athlete on by hand.
[[nodiscard]] std::optional<progress::AthleteTerm::Placed> placed_by_hand(const Athlete& athlete);
/// "2024-09-30".
[[nodiscard]] std::string day_text(std::int32_t day);
/// "30 September".
[[nodiscard]] std::string day_words(std::int32_t day);

}  // namespace breakstep
