// A rung of the ladder: when it is passed, and when it is kind to offer the one below. Counted reps go in (which rep
// counts is chosen before it starts, never by its result), evening by evening.
//
// Passed: the account "above the mark" has ever reached 20 (rung_account.hpp). A rung once passed stays passed.
// Step down: the account "below the mark - 0.15" has ever reached 20, and the athlete is in the second evening on the
// rung or later. Offered, never imposed. Between the two marks nothing moves: that is where one practises.
//
// Each rung has its own 1 in 20. A new rung, or the same one after a step down, is a new value.
//
// Values; owned by whoever follows the athlete; one thread; fixed memory. Only at() can fail: a mark outside (0.15, 1).
#pragma once

#include <cstdint>
#include <optional>

#include "core/error.hpp"
#include "core/ladder/rung_account.hpp"

namespace breakstep::ladder {

/// How far below the rung's mark that of the step down lies.
inline constexpr double step_down_gap = 0.15;
/// The mark of feints that were held, on every rung that has feints.
inline constexpr double held_mark = 0.60;

class Rung {
  public:
    /// Fails (bad_input): the mark is not a number above 0.15 and below 1.
    [[nodiscard]] static Expected<Rung> at(double mark);

    void add(bool on_time);
    void end_evening();

    [[nodiscard]] bool passed() const { return passed_at_.has_value(); }
    /// The rep at which it was passed, or at which the step down was first offered; from 1.
    [[nodiscard]] std::optional<std::uint64_t> passed_at() const { return passed_at_; }
    [[nodiscard]] std::optional<std::uint64_t> step_down_at() const { return step_down_at_; }
    [[nodiscard]] const RungAccount& up() const { return up_; }
    [[nodiscard]] const RungAccount& down() const { return down_; }

  private:
    explicit Rung(double mark);

    RungAccount up_;
    RungAccount down_;
    std::optional<std::uint64_t> passed_at_;
    std::optional<std::uint64_t> step_down_at_;
};

/// A rung with feints: attacks on time at the rung's mark, and feints held at held_mark, each an account of its own.
/// Passed when both have ever reached 20, not necessarily at once. The step down is the attacks' alone: one promise.
class FeintRung {
  public:
    /// As Rung::at().
    [[nodiscard]] static Expected<FeintRung> at(double mark);

    void add_attack(bool on_time);
    void add_feint(bool held);
    void end_evening();

    [[nodiscard]] bool passed() const { return passed_at_.has_value(); }
    /// Counted over attacks and feints together, from 1.
    [[nodiscard]] std::optional<std::uint64_t> passed_at() const { return passed_at_; }
    [[nodiscard]] const Rung& attacks() const { return attacks_; }
    [[nodiscard]] const RungAccount& feints() const { return feints_; }

  private:
    explicit FeintRung(const Rung& attacks) : attacks_(attacks) {}
    void look();

    Rung attacks_;
    RungAccount feints_{held_mark, Beyond::above};
    std::optional<std::uint64_t> passed_at_;
};

}  // namespace breakstep::ladder
