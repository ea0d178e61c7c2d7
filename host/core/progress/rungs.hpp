// Where an athlete stands on the ladder: each rung's accounts (core/ladder/rung.hpp) over all of the athlete's
// evenings.
//
// Which reps count is settled before they start, never by their result: scored attacks (and feints, where the rung has
// them) of the rung's own drills, at its level or a harder one, in tests, and in training in the first set of a
// session, from the athlete's second session of that drill on. Later sets adapt to what came before, so they don't
// count, but for a secret third of those whose level follows the athlete, which stays at the drill's own level. What
// counts as done is on time, or what the drill asks instead (RepFact::rung_hit). What the rig or the coach made void
// does not count; where the coach voided more than one counted rep in ten a pass carries no promise (promise_holds()).
//
// Whoever has passed a rung needs no lower one. One owner, any one thread; pure; an athlete's index out of range, or a
// rung whose mark is not above 0.15 and below 1, is a broken invariant of the caller (next_file checks marks).
#pragma once

#include <cstdint>
#include <deque>
#include <map>
#include <optional>
#include <set>
#include <string>
#include <string_view>
#include <vector>

#include "core/ladder/rung.hpp"
#include "core/progress/facts.hpp"

namespace breakstep::progress {

/// A rung's standard, as config/ladder.toml has it.
struct RungStandard {
    std::int32_t number = 1;            ///< its place: a higher one is harder
    std::string name;                   ///< "the drop"
    std::vector<std::string> drills;    ///< only their reps count
    std::vector<AttackKind> kinds;      ///< of the attacks that count; empty: all but feints
    std::optional<Moment> moment;       ///< null: any
    std::optional<StartKind> start;     ///< null: any
    Level level = Level::beginner;      ///< or a harder one
    std::optional<Level> junior_level;  ///< of a junior's, where it is another
    double mark = 0.5;                  ///< on-time rate that is asked for
    bool feints = false;                ///< feints too, an account of their own at ladder::held_mark
    bool operator==(const RungStandard&) const = default;
};

/// What the counted attacks of a rung took for done: on time, room kept without a strike, or what else its drills ask.
enum class Done : std::uint8_t { on_time, room, as_asked };
/// "on time", "in and out", "done as asked".
[[nodiscard]] std::string_view word(Done done);

struct RungStanding {
    std::int32_t number = 1;
    std::string name;
    double mark = 0.5;
    bool has_feints = false;
    Done done = Done::on_time;                          ///< what `on_time` counts
    std::uint64_t on_time = 0, reps = 0, evenings = 0;  ///< counted attacks
    std::uint64_t held = 0, feints = 0;                 ///< counted feints
    std::uint64_t voided_by_coach = 0;
    double wealth = 1, step_down_wealth = 1, held_wealth = 1;
    /// Of the last three evenings with counted reps alone.
    std::uint64_t lately_on_time = 0, lately_reps = 0, lately_held = 0, lately_feints = 0;
    bool meets_lately = false;  ///< those lie above the mark by more than chance explains: no pass, but nobody who does
                                ///< so is sent to a rung below
    bool passed = false;
    bool attacks_sure = false, held_sure = false;  ///< of each account by itself: beyond its mark by more than luck
    std::optional<std::int32_t> passed_day;        ///< as SessionFact::day
    bool step_down = false;                        ///< to be offered: never imposed, never on a screen of the athlete's
    /// Above the mark by what was counted, but not by more than luck could do; of attacks, of feints.
    [[nodiscard]] bool attacks_unsure() const;
    [[nodiscard]] bool held_unsure() const;
    [[nodiscard]] bool promise_holds() const { return 10 * voided_by_coach <= reps + feints + voided_by_coach; }
    bool operator==(const RungStanding&) const = default;
};

class RungFold {
  public:
    RungFold(std::size_t athletes, std::vector<RungStandard> standards);

    /// In order of time, as TermFold: but of all sessions there are, not of one term's.
    void begin(const SessionFact& session);
    void add(const RepFact& rep);

    /// By number.
    [[nodiscard]] std::vector<RungStanding> standings(std::size_t athlete) const;

  private:
    struct Evening {
        std::int32_t day = 0;
        std::uint64_t on_time = 0, reps = 0, held = 0, feints = 0;
    };
    struct Account {
        ladder::FeintRung rung;
        std::optional<std::int32_t> day, passed_day;
        std::uint64_t voided_by_coach = 0;
        std::deque<Evening> lately;
        std::uint64_t rooms = 0, others = 0;  // of the counted attacks: no strike asked; more than a strike in time
    };
    struct Athlete {
        std::vector<Account> accounts;  // as standards_; empty before the first session
        std::set<std::string> drills;   // of earlier sessions
    };
    [[nodiscard]] bool is_passed(std::size_t standard, const Account& account) const;

    std::vector<RungStandard> standards_;
    std::vector<Athlete> athletes_;
    SessionFact session_;
    Athlete* current_ = nullptr;
    bool known_drill_ = false;
};

}  // namespace breakstep::progress
