// What the desk asks of the house it stands in: the evening that runs, if one does, and what is kept. Made by whoever
// starts the desk; functions that are empty are not to be had, and their pages say so.
//
// Called on the desk's thread; each must give its answer soon and may be called at any time while the desk runs. What
// comes back later (`ask`, `comes`) comes on any thread.
#pragma once

#include <cstdint>
#include <functional>
#include <memory>
#include <string>
#include <vector>

#include "core/error.hpp"
#include "desk/questions.hpp"
#include "hall/evening/evening_view.hpp"

namespace breakstep::desk {

struct DrillSeen {
    std::string name, title;
};

struct AthleteSeen {
    AthleteId athlete{};
    std::string call_sign, group, kept;  ///< kept: whether results may be, in words
    bool has_page = false;
};

/// A session of the store, as the list of past ones shows it.
struct SessionSeen {
    SessionId session{};
    std::string call_sign, drill, day;  ///< day: "2026-11-27"
    std::int64_t reps = 0;
};

/// What the partner of an athlete felt in a set: could they time them?
enum class Felt : std::uint8_t { yes, a_little, no };
struct FeltInSet {
    SessionId session{};
    std::int32_t set = 0;  ///< from 1
    Felt felt{};
};

/// An answer to a list of taps: as its command prints it for people, and as JSON.
struct TapAnswer {
    std::string words, json;
};

/// Step-ins of one's own, tapped beside a video: kept as times alone.
struct TapsKept {
    std::string day;  ///< "2026-11-27"
    std::vector<double> a, b;
};

/// What is known of a device's delay.
struct CalibrationSeen {
    std::string what, words;  ///< "sound"; "calibrated today: 41.2 ms late, 40 samples", or that it never was
};

struct DeskHouse {
    std::string club;
    std::vector<DrillSeen> drills;

    // ---- an evening that runs ---------------------------------------------------------------------------------------
    std::function<std::shared_ptr<const EveningView>()> view{};
    std::function<std::vector<RepSeen>(std::uint64_t)> reps_since{};
    std::function<void(evening::Request, std::function<void(const evening::Answer&)>)> ask{};
    /// Somebody comes, by call-sign. `sure`: a new athlete, if need be. The answer in words.
    std::function<void(std::string call_sign, bool sure, std::function<void(std::string)>)> comes{};
    std::function<void(AthleteId)> leaves{};
    /// Reps of this evening from before this process, in their order.
    std::vector<RepSeen> before{};

    // ---- what is kept -----------------------------------------------------------------------------------------------
    std::function<Expected<std::vector<AthleteSeen>>()> athletes{};
    std::function<Expected<std::string>()> progress{};       ///< in words
    std::function<Expected<std::string>(AthleteId)> page{};  ///< the page at home, as SVG
    /// The newest first; of whom nothing may be shown, nothing.
    std::function<Expected<std::vector<SessionSeen>>()> sessions{};
    std::function<Expected<std::vector<RepSeen>>(SessionId)> session_reps{};
    /// What a partner felt, kept beside the sessions; and how often it agrees with the figures, in words.
    std::function<Expected<void>(const FeltInSet&)> felt{};
    std::function<Expected<std::string>()> agreement{};
    std::function<Expected<std::string>(const std::string&)> drill_text{};
    std::function<Expected<std::string>(const std::string&)>
        check_drill{};  ///< a drill file's text: what is said of it

    // ---- lists of taps, as `timeable` and `leads` read them ---------------------------------------------------------
    std::function<Expected<TapAnswer>(const std::string&)> timeable{}, leads{};
    /// Of one athlete, whose results may be kept; the newest first.
    std::function<Expected<void>(AthleteId, const TapsKept&)> keep_taps{};
    std::function<Expected<std::vector<TapsKept>>(AthleteId)> taps_of{};

    // ---- the rig ----------------------------------------------------------------------------------------------------
    std::function<Expected<std::vector<CalibrationSeen>>()> calibrations{};
    /// Begins a calibration, whose questions stand in `questions`; what is said of it.
    std::function<std::string()> calibrate{};
    /// What the main thread asks; null: nothing ever. Outlives the desk.
    Questions* questions = nullptr;
};

}  // namespace breakstep::desk
