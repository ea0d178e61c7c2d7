// An evening that runs live: one rig, port, window, sound and store from its begin to its end. It holds the driver and
// the evening's owner, and is what every hand (keyboard, window, pads, a phone) and every reader of views speaks with.
//
// Owned by a command. Whatever says "any thread" may be called by any; the rest by the main thread, before start() or
// after finished(). Requests are answered, never lost: by taken, refused (why) or too late, on the engine's thread.
// Fails as the driver does: outcome().
#pragma once

#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "hall/drivers/live_driver.hpp"
#include "hall/evening/evening_owner.hpp"

namespace breakstep {

struct LiveEveningSettings {
    LiveSettings live;
    EveningClub club;  ///< called on the engine's thread
    std::string club_name;
    /// A new evening, and who is here.
    evening::EveningBegan began;
    std::vector<evening::AthleteCame> present;
    /// Or one that was cut off, and how long ago it began.
    std::optional<CutEvening> cut;
    evening::EveningTime cut_at{};
    std::vector<AthleteId> gone;  ///< who takes no part in it any more
    /// Shown on the stage between turns; "" for nothing.
    std::string legend;
};

class LiveEvening {
  public:
    /// `journal`, `cues` and `capture` (may be null) must outlive it.
    LiveEvening(LiveEveningSettings settings, Journal& journal, CueOutput& cues, CaptureWriter* capture);
    ~LiveEvening();
    LiveEvening(const LiveEvening&) = delete;
    LiveEvening& operator=(const LiveEvening&) = delete;

    void start();
    [[nodiscard]] bool finished() const;
    /// After finished(): the error that ended it, if one did; and whether the evening is over, or goes on another time.
    [[nodiscard]] Expected<void> outcome() const;
    [[nodiscard]] bool over() const;

    // ---- hands: any thread ------------------------------------------------------------------------------------------
    using Answered = std::function<void(const evening::Answer&)>;
    void ask(evening::Request request, evening::Hand hand, Answered answered = {});
    /// Somebody comes late, or comes back. `known` runs on the engine's thread just before (the club learns of them).
    void came(evening::AthleteCame athlete, std::function<void()> known = {});
    void left(AthleteId athlete);
    /// The program leaves; the evening goes on when it is started again.
    void leave();
    /// One line instead of the legend on the stage (a question to the coach); "" for the legend again.
    void say_on_stage(std::string line);

    // ---- views: any thread ------------------------------------------------------------------------------------------
    [[nodiscard]] std::shared_ptr<const EveningView> view() const;
    [[nodiscard]] std::vector<RepSeen> reps_since(std::uint64_t number) const;
    /// The journal's hint that something was committed.
    void journal_moved();

    // ---- set before start(), called on the engine's thread; may be empty --------------------------------------------
    std::function<void(const evening::EveningRecord&, HostTime)> on_record;
    std::function<void(const std::string&)> on_notice;
    std::function<void(HostTime)> on_step;
    [[nodiscard]] LiveDriver& driver();
    [[nodiscard]] const EveningOwner& owner() const;

  private:
    struct State;
    std::unique_ptr<State> state_;
};

}  // namespace breakstep
