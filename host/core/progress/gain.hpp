// What drawing the attack, or knowing it by a pattern, is worth to this athlete: on-time rate there minus that of the
// same attacks at random moments, at equal counts. "No difference" is an answer.
//
// Compared are scored reps of training at the drill's own level alike in all that makes them easy or hard: kind,
// moment, counter, stance, the opponent's level. Of each such kind as many of the one as of the other, the newest, so
// that what was learned in between falls on both nearly alike. The interval is Newcombe's (1998, Statistics in Medicine
// 17, 873-890, method 10): Wilson's of the two rates, their far ends squared and added. It takes reps for independent;
// those of one evening are not, since form moves from evening to evening. So the counts are made smaller first, by
// Kish's design effect (1965, Survey Sampling) of the scatter that the ladder takes for granted (logit SD .3).
//
// Owned by AthleteTally; pure; one thread; can't fail.
#pragma once

#include <array>
#include <compare>
#include <cstddef>
#include <cstdint>
#include <map>
#include <optional>
#include <vector>

#include "core/progress/facts.hpp"

namespace breakstep::progress {

/// No figure from fewer reps of each.
inline constexpr std::uint64_t fewest_for_gain = 20;

enum class Gains : std::uint8_t { too_few, no_difference, more, less };

struct Gain {
    std::uint64_t of = 0;  ///< reps of each side
    std::uint64_t on_time = 0, on_time_random = 0;
    double difference = 0, low = 0, high = 0;  ///< of the rates, -1 .. 1; 95 %; 0 where there are none
    [[nodiscard]] Gains said() const {
        if (of < fewest_for_gain) return Gains::too_few;
        return low > 0 ? Gains::more : high < 0 ? Gains::less : Gains::no_difference;
    }
    bool operator==(const Gain&) const = default;
};

class GainTally {
  public:
    /// Scored, not void, in order of time.
    void add(const SessionFact& session, const RepFact& rep, bool hit);
    [[nodiscard]] Gain of(StartKind start) const;

  private:
    struct Alike {
        Cell cell;
        AttackKind kind{};
        Level level{};
        auto operator<=>(const Alike&) const = default;
    };
    struct One {
        std::int32_t day = 0;
        bool hit = false;
    };
    enum class Way : std::uint8_t { random, drawn, pattern };
    std::map<Alike, std::array<std::vector<One>, 3>> reps_;
};

}  // namespace breakstep::progress
