// What speaks on the live screen at a moment: one thing at most. A message goes before a verdict, a verdict before a
// nudge, a nudge before a beat that is being set, that before the count, and the count before the prompt.
//
// Pure, any thread, never fails.
#pragma once

#include <cstdint>
#include <optional>

#include "core/time.hpp"
#include "devices/stage/stage_view.hpp"

namespace breakstep {

struct Speech {
    enum class What : std::uint8_t { nothing, message, verdict, nudge, lure, count, prompt };
    What what = What::nothing;
    double strength = 1;  ///< 1 whole, down to 0 while it fades

    bool operator==(const Speech&) const = default;
};

inline constexpr Duration shown_whole{900'000'000};
inline constexpr Duration fades_in{150'000'000};
/// A nudge has more words to read.
inline constexpr Duration nudge_shown{2'000'000'000};
inline constexpr int count_lamps = 3;

[[nodiscard]] Speech speech_at(const StageView& view, HostTime shown_at);

/// The attack that the limb shows: the last one that has begun, and how long ago; nothing while none has.
struct AttackNow {
    const StageAttack* attack;
    Duration since_toe_off;
};
[[nodiscard]] std::optional<AttackNow> attack_at(const StageView& view, HostTime shown_at);

/// How far the opponent leans, 0 .. 1. It rises in the same time whatever follows, and stays until the attack is over.
inline constexpr Duration lean_rises{200'000'000};
[[nodiscard]] double lean_at(const StageView& view, HostTime shown_at);

inline constexpr Duration flash_stands{200'000'000};
/// The task's attack is watched from a little after it came, at a third of its speed.
inline constexpr Duration before_watching{700'000'000};
inline constexpr int watched_slower = 3;
/// Since the task's attack began, in its own time; nothing: it is not watched now.
[[nodiscard]] std::optional<Duration> watched_at(const StageTask& task, HostTime shown_at);

/// How many of the three lamps are lit (0..3).
[[nodiscard]] int lamps_lit(const StageCount& count, HostTime shown_at);

}  // namespace breakstep
