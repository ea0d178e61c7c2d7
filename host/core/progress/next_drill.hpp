// What an athlete does next: rules that a coach can read and change, and the evidence that chose.
//
// A rule looks at one share (of the reps that fit it, those with certain verdicts) and holds if that share lies beyond
// the rule's border. So that a handful of reps can't choose, there must be at least `reps_min`, and the border must lie
// outside the share's 60 % Wilson interval: a wrong choice costs one drill, not a claim about a person, so one chance
// in five is allowed where a claim allows one in forty. Or it looks at a rung of the ladder, and holds until that rung,
// or a higher one, is passed, or a higher one's standard is met lately (core/progress/rungs.hpp). The first rule that
// holds is taken.
//
// Pure values; any thread. The rules come from config/next.toml (settings/next_file.hpp).
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "core/progress/athlete_term.hpp"

namespace breakstep::progress {

struct NextRule {
    std::string name;
    // Which reps it looks at; null fits all of them. Or one of the answers of AthleteTerm, over the whole term.
    std::optional<AttackKind> kind;
    std::optional<Moment> moment;
    std::optional<Counter> counter;
    std::optional<Stance> stance;
    std::optional<StartKind> start;
    std::optional<Answer> answer;
    bool recent = true;             ///< the last 28 days; false: the whole term
    std::vector<Verdict> verdicts;  ///< those that count; empty: on time and around
    // What makes it hold: exactly one of these, or none for a rule that always does.
    std::optional<double> above, below;       ///< 0 .. 1
    std::optional<std::uint32_t> fewer_than;  ///< so few reps fit in the whole term: not practised yet
    bool can_be_timed = false;                ///< told over the term's drills, and still so on the last evenings
    bool needs_practice = false;              ///< the athlete's own claim, of `moment`, is "worse"
    std::optional<std::int32_t> rung;         ///< its number: not passed yet, nor a higher one
    bool juniors = false;                     ///< for juniors alone
    std::uint32_t reps_min = 20;              ///< for above and below
    /// After so many evenings of its drill within 28 days the rules below have their turn.
    std::optional<std::uint32_t> evenings_most;
    std::string drill;          ///< a drill's name
    std::int32_t from_age = 0;  ///< it is for nobody younger; 0: for all
    struct Instead {
        std::string drill;
        std::int32_t from_age = 0;
        bool operator==(const Instead&) const = default;
    };
    std::vector<Instead> instead;  ///< for who is too young for it, of the same rung; the first that suits
    /// {share}, {count} and {of} are filled in, and of a rung {so far}: " (on time 17 of 28; the mark is half)".
    std::string say;
    bool operator==(const NextRule&) const = default;
};

struct NextDrill {
    std::string drill, because, rule;
    std::optional<Share> evidence;  ///< null for a rule that looks at none
    std::string without_counts;     ///< `because` for a child: no figures of a rung
    std::string offer;              ///< for the coach alone: the step down from a rung that is hard just now, or ""
    /// For the coach alone: many evenings on a rung without an answer; they may put the athlete on the next one.
    struct Undecided {
        std::int32_t rung = 1, next_rung = 2;
        std::uint64_t evenings = 0;
        bool operator==(const Undecided&) const = default;
    };
    std::optional<Undecided> undecided;
};
/// So many evenings on a rung, neither passed nor hard, are told to the coach.
inline constexpr std::uint64_t evenings_undecided = 8;
/// The first rule that holds; nullopt if none does.
[[nodiscard]] std::optional<NextDrill> next_drill(const AthleteTerm& term, std::span<const NextRule> rules);

}  // namespace breakstep::progress
