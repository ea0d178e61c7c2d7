// An invented athlete in a whole drill: steps in and out by the intervals of a family while nothing comes, and answers
// attacks. It knows an attack from its toe-off on, as a person at the rig does: no plan, no coin, no guess.
//
// An attack is answered by a strike in its drop, after so many retreats as the athlete's habit wants; a retreat leaves
// over the far mark, now and then over the back mark too. After an answer the next interval runs from the answer's own
// step-in. Two passes of a gate are at least 250 ms apart, so that the families' intervals are taken 1.3 times as long
// and drawn again under 0.52 s: the memoryless ones then begin just beyond the shortest that gates can see, 0.51 s.
//
// One drill, one athlete; one thread; cannot fail. Moments are of the rig's clock, since its boot.
#pragma once

#include <array>
#include <deque>
#include <optional>
#include <string>
#include <string_view>

#include "core/random.hpp"
#include "core/reading/families.hpp"
#include "core/time.hpp"
#include "core/trade/vocabulary.hpp"

namespace breakstep::timeable {

/// How the athlete chooses.
struct ChoiceHabit {
    std::array<double, 4> retreats;  ///< chance of 0 .. 3 before an answer
    std::array<double, 4> pads;      ///< by PadRole
    double over_the_back = 0.3;      ///< of retreats
};

struct FloorHabits {
    std::string_view words;
    reading::Family family;
    ChoiceHabit choices;
};

struct FloorMove {
    Duration at{};
    std::optional<GateRole> gate;  ///< passed; else a pad is struck
    PadRole pad = PadRole::high_left;
};

class FloorAthlete {
  public:
    FloorAthlete(const FloorHabits& habits, std::uint64_t seed, std::uint64_t drill);

    /// Strikes a pad at about `at`, to start a set, and steps out again.
    void strike_to_start(Duration at);
    /// The set runs from `at` on.
    void set_began(Duration at);
    void set_ended();
    /// An attack is seen now, at its toe-off; its drop begins at `drop`.
    void attacked(Duration toe_off, Duration drop);

    /// When the next move comes.
    [[nodiscard]] std::optional<Duration> next() const;
    [[nodiscard]] FloorMove take();

  private:
    [[nodiscard]] Duration interval();
    [[nodiscard]] std::size_t drawn(const std::array<double, 4>& chances);
    void answer(Duration at);
    void retreat(Duration at);
    void pass(GateRole gate, Duration at) { moves_.push_back({at, gate, {}}); }

    const FloorHabits& habits_;
    reading::InventedAthlete tempo_;
    Random random_;
    std::deque<FloorMove> moves_;         // decided, in order
    std::optional<Duration> next_entry_;  // of the athlete's own
    Duration outside_from_{};             // since when it stands outside the near mark, or will
    std::size_t retreats_left_ = 0;
};

/// What three earlier days of such an athlete taught, as SessionBegan::prior has it: 24 free steps in each, whose pace
/// is that day's own (6 %, one standard deviation of its logarithm). Other days for each drill; the same seed, the same
/// days.
[[nodiscard]] std::string prior_of_earlier_days(const FloorHabits& habits, std::uint64_t seed, std::uint64_t drill);

}  // namespace breakstep::timeable
