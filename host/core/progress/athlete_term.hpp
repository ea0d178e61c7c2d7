// What a term says of one athlete, as values: made by TermFold (term_fold.hpp), shown by `progress` and the pages, read
// by the rules for what comes next.
//
// Values; any thread. Null stands for what can't be said yet, and the counts beside it say why.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "core/progress/claims.hpp"
#include "core/progress/facts.hpp"
#include "core/progress/gain.hpp"
#include "core/progress/rank_tests.hpp"
#include "core/progress/rungs.hpp"
#include "core/progress/summary.hpp"
#include "core/reading/picked_or_guessed.hpp"
#include "core/reading/timeable_index.hpp"

namespace breakstep::progress {

/// No median under so many scored contacts of a cell, no trend under so many scored reps.
inline constexpr std::uint64_t fewest_for_median = 20, fewest_for_trend = 30;
/// An evening with fewer scored reps in a cell has no value of its own in the line through the evenings.
inline constexpr std::uint64_t fewest_an_evening = 5;

/// Of the names in the group's table at most this share is expected to be there by chance.
inline constexpr double false_discovery_rate = 0.1;
/// The name of our own measure.
inline constexpr std::string_view on_time_rate = "on-time rate";

/// So many of so many, with Wilson's 95 % interval.
struct Share {
    std::uint64_t hits = 0, of = 0;
    [[nodiscard]] double rate() const { return of == 0 ? 0 : static_cast<double>(hits) / static_cast<double>(of); }
    [[nodiscard]] Interval interval() const;  ///< 0 .. 1
    void count(bool hit) {
        ++of;
        hits += hit ? 1 : 0;
    }
    Share& operator+=(const Share& other) {
        hits += other.hits;
        of += other.of;
        return *this;
    }
    bool operator==(const Share&) const = default;
};

/// Scored reps of one cell over some evenings.
struct CellFigures {
    Share on_time;                        ///< (on time + around) of scored
    std::uint64_t clashes = 0;            ///< among the scored
    std::uint64_t contacts = 0;           ///< scored reps with a latency
    std::optional<Median> latency_ms;     ///< null under fewest_for_median contacts
    std::optional<double> steadiness_ms;  ///< variable error (population form); null under fewest_for_median contacts
};

struct EveningShare {
    std::int32_t day = 0;
    Share on_time;
};

struct CellTerm {
    Cell cell;
    CellFigures all;
    std::optional<CellFigures> baseline, now;  ///< first and last three evenings; null under six
    std::vector<EveningShare> evenings;        ///< every evening with a scored rep in it
};

/// One measure followed over the term: the on-time rate of a cell, or an imported one.
struct Followed {
    std::string measure;                     ///< "on-time rate", or the imported measure's name
    std::optional<Cell> cell;                ///< of an on-time rate
    std::optional<Better> better;            ///< null: nobody said which way is better, so nothing is claimed
    std::vector<EveningValue> values;        ///< days as in SessionFact; rates 0 .. 1
    std::vector<double> sampling_variances;  ///< of each value; 0 where unknown
    std::uint64_t reps = 0;                  ///< behind the values; 0 for an imported measure
    TermClaim claim;                         ///< Claim::too_few also under fewest_for_trend reps
    std::optional<BaselineAndNow> baseline_and_now;
    std::optional<TheilSen> theil_sen;  ///< per day
    std::optional<MannKendall> mann_kendall;
    std::optional<double> q;  ///< of the claim in the group's table (Benjamini-Hochberg); null where none is made
};

/// Which answers carry an athlete: not a rank, a style.
enum class Answer : std::uint8_t {
    meeting_the_lift,
    the_gap,
    the_drop,
    going_around,
    after_giving_ground,
    at_once,
    leading,
    drop_or_gap  ///< where either was right
};
inline constexpr std::size_t answer_count = 8;
/// "meeting the lift", "the gap", "the drop", "going around", "after giving ground", "at once", "leading", "drop or
/// gap".
[[nodiscard]] std::string_view word(Answer answer);

/// An evening after a while without any.
struct DaysOff {
    std::int32_t last_day = 0, next_day = 0;
    Share before, after;  ///< on time, all cells of that evening together: for display only
};

using VerdictCounts = std::array<std::uint32_t, 13>;  ///< by Verdict

struct AthleteTerm {
    std::size_t athlete = 0;
    std::int32_t first_day = 0, last_day = 0;
    std::uint64_t evenings = 0, sessions = 0, reps = 0, scored = 0, voids = 0;
    std::vector<CellTerm> cells;   ///< tests first, then by scored reps, most first
    Followed claimed;              ///< the one measure that was fixed beforehand; measure "" if there is none
    std::vector<Followed> others;  ///< imported measures that are not claimed, by name
    std::array<Share, answer_count> answers{};
    reading::AnswerCount answer_count_total;  ///< attacks and feints answered
    std::optional<reading::PickedOrGuessed> picked;
    reading::HitCount hits_baseline, hits_now,
        hits;                           ///< windows announced and hit, pooled; first and last three evenings
    double rhythm_wealth = 1;           ///< over all drills (TermTell); 20 tells
    bool rhythm_told = false;           ///< named in the group by e-BH
    std::optional<Level> level;         ///< of the last training session, else of the last one
    Share first_reps, later_reps;       ///< warm-up: the first five scored reps of an evening, the rest
    Share first_halves, second_halves;  ///< of sets with at least six scored reps
    std::vector<DaysOff> days_off;      ///< 14 days or more
    std::map<Situation, VerdictCounts> situations;         ///< the whole term
    std::map<Situation, VerdictCounts> recent_situations;  ///< the last 28 days
    std::map<std::string, std::uint32_t> recent_drills;    ///< evenings with that drill in the last 28 days
    bool junior = false;
    std::int32_t age = 0;  ///< at least so old, in years; 0: not known
    /// The coach put the athlete on this rung by hand, on that day: none below it comes next.
    struct Placed {
        std::int32_t rung = 1, day = 0;
        bool operator==(const Placed&) const = default;
    };
    std::optional<Placed> placed;
    Gain gain_of_drawn, gain_of_pattern;
    /// By number; of all the athlete's evenings, not of the term's alone. Whoever reads a term puts them here.
    std::vector<RungStanding> rungs;
};

}  // namespace breakstep::progress
