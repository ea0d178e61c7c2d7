// Reps by their time from the flash that opened the evening, for a phone's video of the hall: as subtitles (SubRip,
// WebVTT), a list or JSON.
//
// Any thread; reads the store. A rep's toe-off is a stamp of the rig; the flash is one too, perhaps of another boot and
// another session. Both are brought to the host's clock by the events that arrived in between: the rig's rate as the
// journal knows it, and the smallest delay of an arrival, a few milliseconds at most.
#pragma once

#include <string>
#include <vector>

#include "core/error.hpp"
#include "core/journal/events.hpp"
#include "store/store.hpp"

namespace breakstep {

struct Caption {
    Duration from{};  ///< since the flash; the rep's toe-off (of a lie: where it would have been)
    Duration until{};
    std::string athlete;  ///< call-sign
    std::string drill;
    std::int32_t set = 0, number = 0;  ///< set from 1
    RepId rep{};
    SessionId session{};
    std::string words;  ///< "late for lift: that was the drop"
    bool is_void = false;
};

struct Film {
    std::vector<Caption> captions;  ///< in order
    int earlier = 0;                ///< films of the same day before it, which are not in it
    std::size_t untimed = 0;        ///< reps after the computer was started anew or slept: no time in the film
};

/// `of`: a session as find_session() takes it, a day (2026-11-26), or "" for the last evening. Every flash begins a film:
/// of a day the last one is told, of a session its own reps in the film that it belongs to. Fails (not_found) if there
/// is no such session, or no flash before it on its day.
[[nodiscard]] Expected<Film> captions_of(const Store& store, const std::string& of);

/// The host's time of a rig's stamp, by the arrivals of one session.
class HostTimes {
  public:
    void note(const JournalRecord& record);
    /// Nothing without arrivals of that boot.
    [[nodiscard]] std::optional<HostTime> host_time(TargetTime at) const;

  private:
    struct Arrival {
        TargetTime at;
        HostTime arrived;
    };
    std::vector<Arrival> arrivals_;
    std::optional<ClockRate> rate_;
};

[[nodiscard]] std::string as_srt(const std::vector<Caption>& captions);
[[nodiscard]] std::string as_webvtt(const std::vector<Caption>& captions);
/// "12:05.340  Heron     set 1 rep 7  on time in the drop"
[[nodiscard]] std::string as_list(const std::vector<Caption>& captions);
[[nodiscard]] std::string as_json(const std::vector<Caption>& captions);

}  // namespace breakstep
