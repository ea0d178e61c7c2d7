// An attack as it was confirmed: where each phase began, in which windows a strike scores, and what the athlete is
// judged by. Values made by RepBook when a rep closes; the score's thread; times are ns since the rep's boot.
#pragma once

#include <cstdint>
#include <optional>
#include <vector>

#include "core/journal/events.hpp"
#include "core/score/rig_log.hpp"
#include "core/time.hpp"
#include "core/trade/vocabulary.hpp"

namespace breakstep::scoring {

/// A confirmed border between two phases.
struct Onset {
    Duration at{};
    Uncertainty uncertainty = unknown_uncertainty;
    OnsetSource source{};
};

/// Half-open: [begin, end). `phase` is the index of the phase it belongs to; latency runs from that phase's start,
/// which for a lift out of guard is `lead` after the window's begin.
struct Window {
    Duration begin{}, end{};
    std::size_t phase = 0;
    [[nodiscard]] bool holds(Duration at) const { return at >= begin && at < end; }
    [[nodiscard]] Duration middle() const { return begin + (end - begin) / 2; }
    /// This share of it around its middle; all of it at 1.
    [[nodiscard]] Window narrowed(double share) const {
        if (share >= 1) return *this;
        const Duration cut(static_cast<std::int64_t>(static_cast<double>((end - begin).count()) * (1 - share) / 2));
        return {begin + cut, end - cut, phase};
    }
};

struct Attack {
    std::vector<AttackPhase> phases;  ///< as opened; empty for a catch trial
    std::vector<Onset> onsets;        ///< one more than phases: the last is the attack's end; empty for a catch trial
    Duration lead{};

    [[nodiscard]] Duration toe_off() const { return onsets.front().at; }
    [[nodiscard]] Duration end() const { return onsets.back().at; }
    /// The phase that holds `at`, none in guard: before toe-off and from the attack's end.
    [[nodiscard]] std::optional<std::size_t> phase_at(Duration at) const;
    /// A moment's windows, in order of time. Lift: from `lead` before toe-off, out of guard only (a second lift follows
    /// a gap, and a strike in the gap is a strike in the gap), to chamber. Drop: from hip height to touchdown. Gap:
    /// from touchdown to the next toe-off or first hand, or the gap's length where none follows.
    [[nodiscard]] std::vector<Window> windows(Moment moment) const;
    /// Those of every moment that is asked, in order of time.
    [[nodiscard]] std::vector<Window> windows(const AttackChoice& asked) const;
    /// The whole phase as a window: of the held up that a spin goes around.
    [[nodiscard]] Window whole(std::size_t phase) const { return {onsets[phase].at, onsets[phase + 1].at, phase}; }
};

}  // namespace breakstep::scoring
