// Events of a session as a whole; how events grow stands in events.hpp. Pure values, any thread.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "core/journal/identities.hpp"
#include "core/trade/drill.hpp"

namespace breakstep {

/// When an athlete is told what a rep was worth. Every contact has its neutral click all the same.
enum class Feedback : std::uint8_t {
    at_close,  ///< once the rep has closed: the first way, and that of a drill which says nothing else
    at_once,  ///< 250 ms after contact at most; a strike before toe-off - lead at toe-off, a catch trial's at its close
    silent_first  ///< the first set has the click alone, and counts; those after it are told at once
};

/// First event of a session. The wall clock is kept for people (evenings, terms), never for scoring.
struct SessionBegan {
    static constexpr std::uint16_t kind = 1;
    SessionId session{};
    AthleteId athlete{};
    std::int64_t unix_seconds = 0;
    std::uint64_t seed = 0;
    Side athlete_lead = Side::right;
    Drill drill;
    std::string prior;                        ///< what earlier sessions taught about this athlete's rhythm; "" for none
    std::vector<Participant> participants{};  ///< empty: the athlete alone
    std::vector<BoardId> devices{};           ///< the boards that were there when it began; empty: not said
    std::string reading_method{};             ///< how the athlete is read; "": the plain method, one sign
    /// Which rules of the score hold, so that an older journal scores as it did. 0: the first. 1: a blow at a void
    /// attack stays with it, and stamps that run backwards void their rep.
    std::int32_t rules = 0;
    EveningId evening{};  ///< which evening runs it: rests and patience are the evening's then; 0: it runs alone
    Feedback feedback{};
    bool opens_video = false;  ///< begins with a flash and a click (VideoMark), for whoever films the hall
    /// The level that this athlete last had in this drill, where it follows: adapting begins there.
    double first_window = 1, first_pace = 1;
    template <class Archive>
    void fields(Archive& archive) {
        archive(session, athlete, unix_seconds, seed, athlete_lead, drill, prior);
        archive.added(participants, devices, reading_method, rules);
        archive.added(evening, feedback);
        archive.added(opens_video);
        archive.added(first_window, first_pace);
    }
};

struct SessionEnded {
    static constexpr std::uint16_t kind = 2;
    SessionEnd how{};
    template <class Archive>
    void fields(Archive& archive) {
        archive(how);
    }
};

/// A delay of the host that the sync input measured, used in this session: added to the sound's or screen's planned
/// onset. `spread` becomes the onset's uncertainty. Without one the uncertainty is unknown.
struct CalibrationUsed {
    static constexpr std::uint16_t kind = 3;
    OnsetSource source{};
    Duration delay{};
    Uncertainty spread = unknown_uncertainty;
    template <class Archive>
    void fields(Archive& archive) {
        archive(source, delay, spread);
    }
};

/// The flash on the screen, the click and the ready lamp that open a session or an evening, all at `at`: what a phone's
/// video of the hall is matched by.
struct VideoMark {
    static constexpr std::uint16_t kind = 4;
    TargetTime at;
    template <class Archive>
    void fields(Archive& archive) {
        archive(at);
    }
};

}  // namespace breakstep
