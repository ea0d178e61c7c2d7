// What a partner was told and what their leg did; how events grow stands in events.hpp. Times are of the rig's boot.
// Pure values, any thread.
#pragma once

#include <cstdint>

#include "core/journal/identities.hpp"

namespace breakstep {

/// A rep whose attack is a partner's real leg: its phases are PhaseSeen, what came stands in its close. Right after
/// RepOpened, whose onset is the moment of the cue, or the lift where nobody cued.
struct LegExpected {
    static constexpr std::uint16_t kind = 45;
    RepId rep{};
    bool told = false;  ///< the partner was told what to do; else they kicked by themselves, and nothing was asked
    template <class Archive>
    void fields(Archive& archive) {
        archive(rep, told);
    }
};

/// A phase of a partner's leg began, told once it is certain. Those of a rep come in order of time; guard is its end.
struct PhaseSeen {
    static constexpr std::uint16_t kind = 46;
    RepId rep{};
    Phase phase{};
    TargetTime at;
    Uncertainty bound{};   ///< of the gate that saw it, or of the tap
    OnsetSource source{};  ///< gate or tap
    template <class Archive>
    void fields(Archive& archive) {
        archive(rep, phase, at, bound, source);
    }
};

/// The partner's cue of a rep began, where the athlete can't see it.
struct PartnerCued {
    static constexpr std::uint16_t kind = 47;
    RepId rep{};
    TargetTime at;
    Uncertainty uncertainty = unknown_uncertainty;
    OnsetSource source{};  ///< lamp (with the role partner), screen (a second display), tap (the coach's)
    template <class Archive>
    void fields(Archive& archive) {
        archive(rep, at, uncertainty, source);
    }
};

/// The coin drill: at `at` a secret coin cued the partner, or did nothing. Whether the athlete enters in the window
/// after it, fixed beforehand, is all that counts.
struct CoinThrown {
    static constexpr std::uint16_t kind = 48;
    std::int32_t trial = 0;  ///< from 0 through the session
    TargetTime at;
    bool cued = false;
    Duration from{}, to{};  ///< the window, since `at`
    template <class Archive>
    void fields(Archive& archive) {
        archive(trial, at, cued, from, to);
    }
};

}  // namespace breakstep
