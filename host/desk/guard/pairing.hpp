// The six digits that pair a phone: good once, for ten minutes, and dead after five wrong tries, whoever typed them.
// After that nobody pairs for a minute and the coach asks for new digits; phones that are paired stay so. Guessing by
// rote gets five of a million a minute at best.
//
// A value of the desk; its thread's alone. Times come from outside: any clock that never runs back. Cannot fail.
#pragma once

#include <chrono>
#include <functional>
#include <optional>
#include <string>
#include <string_view>

namespace breakstep::desk {

/// Since any fixed moment, by a steady clock.
using DeskTime = std::chrono::milliseconds;

class PairingCode {
  public:
    static constexpr DeskTime good_for = std::chrono::minutes(10);
    static constexpr DeskTime pause = std::chrono::minutes(1);
    static constexpr int tries = 5;

    /// `draw` gives six digits each time.
    explicit PairingCode(std::function<std::string()> draw) : draw_(std::move(draw)) {}

    /// New digits in the place of the old ones. Nothing in the minute after five wrong tries.
    std::optional<std::string> renew(DeskTime now);
    /// The digits that are good now.
    [[nodiscard]] std::optional<std::string> digits(DeskTime now) const;
    [[nodiscard]] DeskTime good_still(DeskTime now) const;
    [[nodiscard]] DeskTime pause_still(DeskTime now) const;
    [[nodiscard]] int tries_left() const { return tries - wrong_; }

    enum class Answer {
        paired,  ///< and the digits are used up
        wrong,
        none  ///< no digits are good: used, too old, dead, or a pause
    };
    [[nodiscard]] Answer take(std::string_view typed, DeskTime now);

  private:
    std::function<std::string()> draw_;
    std::string digits_;
    DeskTime until_{}, pause_until_{};
    int wrong_ = 0;
};

/// What a person typed as digits: spaces and dashes between them are left out. Nothing if it is not six digits.
[[nodiscard]] std::optional<std::string> digits_typed(std::string_view typed);

}  // namespace breakstep::desk
