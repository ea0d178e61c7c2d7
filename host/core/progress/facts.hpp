// What a term is made of, as it is handed in: sessions with their reps, and imported results. No names: an athlete is
// an index that the caller gives.
//
// Values; any thread; nothing here can fail.
#pragma once

#include <compare>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>

#include "core/reading/timeable_index.hpp"
#include "core/trade/drill.hpp"
#include "core/trade/opponent.hpp"
#include "core/trade/vocabulary.hpp"

namespace breakstep::progress {

/// What is asked and from which stance. Figures of two cells are never pooled: a hand is faster than a spin. Tests are
/// apart from training, whose difficulty adapts.
struct Cell {
    Moment moment{};
    Counter counter{};
    Stance stance{};
    bool test = false;
    /// Where several moments are right, all of them: a cell of its own. 0: `moment` alone.
    MomentSet moments = 0;
    auto operator<=>(const Cell&) const = default;
};

/// What happened, for choosing what comes next: like a cell, with the kind of the attack and how it started.
struct Situation {
    AttackKind kind{};
    Moment moment{};
    Counter counter{};
    Stance stance{};
    StartKind start = StartKind::random;
    MomentSet moments = 0;  ///< as Cell
    /// Either of several is right, so it speaks for none of them.
    [[nodiscard]] bool asks_several() const { return moments != 0 && moments != moment_bit(moment); }
    auto operator<=>(const Situation&) const = default;
};

/// One athlete's run of one drill, without its reps. Sessions are handed in in the order in which they began.
struct SessionFact {
    std::size_t athlete = 0;
    std::int32_t day = 0;  ///< its evening: days since 1970-01-01 by the calendar of the hall
    bool test = false;
    StartKind start{};
    Stance stance{};
    Level level{};
    std::string drill;
    /// What its rhythm gave away, of a session that ended: windows and chance, and the wealth of the test.
    std::optional<reading::HitCount> hits;
    std::optional<double> wealth;
    bool junior = false;  ///< the athlete was one that day
};

/// A rep of the session handed in last, in order.
struct RepFact {
    std::int32_t set = 0, number = 0;
    AttackKind kind{};
    Moment moment{};
    MomentSet moments = 0;  ///< as AttackChoice
    Counter counter{};
    StartKind start{};
    Verdict verdict{};
    bool scored = false, catch_trial = false;
    bool contacted = false;  ///< counts for picked or guessed
    bool retreated = false;  ///< answered by leaving the far mark without a strike
    bool voided_by_coach = false;
    bool counts = false;           ///< chosen beforehand to count for a rung
    std::optional<bool> rung_hit;  ///< what a rung takes for done; null: as the verdict says
    double window = 1;             ///< the level
    std::optional<double> latency_ms, error_ms;
    bool struck_in_wait = false;  ///< long before toe-off: early, and no measure of how steadily attacks are met
};

/// A value of an imported measure, one an evening.
struct MeasureFact {
    std::size_t athlete = 0;
    std::string measure;
    std::int32_t day = 0;
    double value = 0;
};

}  // namespace breakstep::progress
