// The desk's pages as HTML, made here whole; what is live on them is filled in by the browser's script. Every word that
// comes from elsewhere is escaped (web/message.hpp). Pure; any thread; cannot fail.
#pragma once

#include <string>
#include <vector>

#include "desk/guard/pairing.hpp"
#include "desk/guard/phones.hpp"
#include "desk/house.hpp"

namespace breakstep::desk {

/// What every page of a paired phone has around it.
struct Frame {
    std::string club, form_token;
    std::int32_t phone = 0;
    bool commands = false, evening = false;
};

struct PairSeen {
    std::string club, said;
    int tries_left = 0;
    bool digits_are_good = false;
    DeskTime pause{};
};
[[nodiscard]] std::string pair_page(const PairSeen& seen);

[[nodiscard]] std::string evening_page(const Frame& frame, const std::vector<DrillSeen>& drills);
/// Where no evening runs.
[[nodiscard]] std::string home_page(const Frame& frame);
/// What the main thread asks, live.
[[nodiscard]] std::string before_page(const Frame& frame);
/// What the partner alone sees, on a phone propped beside them.
[[nodiscard]] std::string partner_page(const Frame& frame);
[[nodiscard]] std::string rig_page(const Frame& frame, const std::vector<CalibrationSeen>& calibrations,
                                   bool can_calibrate);
[[nodiscard]] std::string video_page(const Frame& frame, const std::vector<AthleteSeen>& athletes);
/// `answers`: what each of `kept` says, in its order.
[[nodiscard]] std::string athlete_page(const Frame& frame, const AthleteSeen& athlete,
                                       const std::vector<TapsKept>& kept, const std::vector<TapAnswer>& answers);
[[nodiscard]] std::string athletes_page(const Frame& frame, const std::vector<AthleteSeen>& athletes);
[[nodiscard]] std::string drills_page(const Frame& frame, const std::vector<DrillSeen>& drills);
[[nodiscard]] std::string drill_page(const Frame& frame, const std::string& name, const std::string& text);
/// `agreement`: how often partners' answers and the figures agree; "" for nothing to say.
[[nodiscard]] std::string sessions_page(const Frame& frame, const std::vector<SessionSeen>& sessions,
                                        const std::string& agreement);
[[nodiscard]] std::string session_page(const Frame& frame, const SessionSeen& session,
                                       const std::vector<RepSeen>& reps);
/// Words as they stand, line by line.
[[nodiscard]] std::string words_page(const Frame& frame, const std::string& title, const std::string& words);

struct PhonesSeen {
    std::vector<Phone> phones;
    std::int32_t own = 0;
    std::string address, fingerprint;
    std::string digits;  ///< "" where none are good, or this phone may not see them
    DeskTime good_still{};
    bool hall = false, from_here = false;
};
[[nodiscard]] std::string phones_page(const Frame& frame, const PhonesSeen& seen);

}  // namespace breakstep::desk
