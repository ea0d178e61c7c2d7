// An evening that runs, with everything it holds for its whole length: rig, window, sound, stores, keys. Main thread.
#pragma once

#include <functional>
#include <memory>
#include <mutex>
#include <optional>
#include <string>
#include <vector>

#include "cli/desk/desk.hpp"
#include "cli/evening/evening_said.hpp"
#include "cli/evening/evening_setup.hpp"
#include "cli/evening/keyboard_hand.hpp"
#include "devices/simulated/simulate_rig.hpp"
#include "hall/drivers/live_cues.hpp"
#include "tools/simulated_members.hpp"

namespace breakstep {

struct NightBegins {
    evening::EveningBegan began;
    std::vector<evening::AthleteCame> present;
    std::optional<CutEvening> cut;
    evening::EveningTime cut_at{};
    std::vector<AthleteId> gone;  ///< since the cut
};

class Night {
  public:
    /// `rig` null: a real one.
    Night(const EveningOptions& options, const Settings& settings, SimulatedRig* rig);

    [[nodiscard]] Expected<void> open_stores();
    [[nodiscard]] NightStores& stores() { return *stores_; }
    /// What is asked before the evening, for its desk too; and a desk that has only that as yet. Where it can't be
    /// opened, that is said, and the evening goes on without.
    [[nodiscard]] desk::Questions& questions() { return questions_; }
    void open_desk();
    /// Says what other threads had to say.
    void say_lines();
    /// The exit code.
    [[nodiscard]] int run(NightBegins begins, ClubTonight& club, Welcome& welcome);

  private:
    /// Lines from the engine's thread, said by the main one.
    class Lines {
      public:
        void put(std::string line);
        [[nodiscard]] std::vector<std::string> take();

      private:
        std::mutex lock_;
        std::vector<std::string> waiting_;
    };
    /// What other threads want done by the main one.
    class Errands {
      public:
        void put(std::function<void()> errand);
        void run();

      private:
        std::mutex lock_;
        std::vector<std::function<void()>> waiting_;
    };
    [[nodiscard]] LiveEveningSettings live_settings(NightBegins& begins, ClubTonight& club) const;
    [[nodiscard]] KeyboardDesk desk(LiveEvening& live, ClubTonight& club, Welcome& welcome);
    /// Whoever is called so joins the evening; what is said of it. Nothing if nobody is, and it is not `sure`.
    [[nodiscard]] std::optional<std::string> admit(LiveEvening& live, ClubTonight& club, Welcome& welcome,
                                                   const std::string& call_sign, bool sure);
    [[nodiscard]] desk::DeskHouse house();
    void open_desk(std::vector<RepSeen> before);
    using Comes = std::function<void(const std::string&, bool, const std::function<void(std::string)>&)>;
    /// Null, and empty: no evening runs.
    void runs(LiveEvening* live, Comes comes);
    [[nodiscard]] Expected<std::vector<RepSeen>> reps_before(EveningId evening);
    void tell_digits();
    void serve(LiveEvening& live, LiveCues& cues);
    void window_keys(LiveEvening& live, StageWindow& window);
    [[nodiscard]] int end(bool over, const Expected<void>& outcome);

    const EveningOptions& options_;
    const Settings& settings_;
    SimulatedRig* rig_;
    std::mutex live_lock_;  ///< stores and desk ask for the evening that runs on threads of their own
    LiveEvening* live_ = nullptr;
    Comes comes_;
    desk::Questions questions_;
    std::unique_ptr<NightStores> stores_;
    std::optional<SimulatedMembers> members_;
    Lines lines_;
    Errands errands_;
    std::unique_ptr<desk::DeskServer> desk_;
    std::optional<EveningSaid> said_;
    std::optional<KeyboardHand> keyboard_;
};

}  // namespace breakstep
