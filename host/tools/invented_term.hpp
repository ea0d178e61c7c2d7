// The invented term of `demo --term`: who of the club Saltmarsh Hall comes to which of ten Tuesday evenings, what they
// run there, and how they change meanwhile. Invented altogether; birds' names. What is put in is known, so that what
// `progress` says can be held against it.
//
// Values; main thread; cannot fail. All draws come from the Random that is handed in.
#pragma once

#include <chrono>
#include <cstdint>
#include <string>
#include <vector>

#include "core/random.hpp"
#include "devices/simulated/athlete_profile.hpp"
#include "store/store_rows.hpp"

namespace breakstep {

inline constexpr int term_weeks = 10;
inline constexpr std::chrono::sys_days first_tuesday{std::chrono::year{2026} / std::chrono::September / 1};

/// What the model was told to do over the term.
enum class TrueChange : std::uint8_t { none, improves, gets_worse };
/// "as before", "improves", "gets worse".
[[nodiscard]] std::string_view word(TrueChange change);

/// One of the club: as the athlete table keeps them (without an id), and what is true of them.
struct InventedAthlete {
    Athlete entry;
    TrueChange change{};
    std::string rhythm;  ///< of the steps, in words. Who hardly ever gives ground can be timed by that, beat or none.
};
[[nodiscard]] std::vector<InventedAthlete> invented_athletes();

/// One athlete's run of one drill.
struct InventedTurn {
    std::size_t athlete = 0;  ///< index in invented_athletes()
    std::string drill;        ///< by name
    bool junior = false;      ///< rests longer
    AthleteProfile profile;   ///< as the athlete is on this evening
};
/// The evening of a week, 0 .. term_weeks - 1, in the order in which they stand at the rig: one round of tests, one of
/// second tests, one of training.
[[nodiscard]] std::vector<InventedTurn> turns_of_week(int week, Random& random);

}  // namespace breakstep
