// A hall full of invented athletes around one simulated rig: they walk up when they are called, and do what plans of an
// evening never say: come late, leave early, step up out of turn, stay away when called. A coach who looks on skips,
// voids, pauses and says whose set it was; somebody trips over the cable. Who stood at the rig when is noted, as the
// truth that the evening's journals are held against.
//
// Pure but for its callers' times; owned by a command or a test, on its one thread. The same seed does the same.
#pragma once

#include <functional>
#include <map>
#include <optional>
#include <vector>

#include "core/random.hpp"
#include "devices/simulated/simulated_target.hpp"
#include "hall/evening/evening_owner.hpp"

namespace breakstep {

struct HallMember {
    AthleteId athlete{};
    AthleteProfile profile;
    Duration comes{};  ///< into the evening; 0: from its begin
    std::optional<Duration> leaves;
};

/// A blow as the rig numbered it, and who struck it.
struct PlantedStrike {
    HostTime at;  ///< true time
    BootId boot{};
    std::uint16_t sequence = 0;
    AthleteId by{};
    PadRole pad{};
};
/// What goes otherwise than planned, by the number of the call (from 0); -1: never.
struct HallTroubles {
    std::int32_t out_of_turn_call = 5;        ///< another steps up; the coach sees it in the set
    std::int32_t out_of_turn_late_call = 26;  ///< another steps up; the coach sees it after the set
    std::int32_t stays_away_call = 9;         ///< nobody steps up: skipped, and called back later
    std::int32_t void_call = 12;              ///< a rep is voided, and another, which is given back
    std::int32_t pause_call = 15;             ///< half a minute's pause in the set
    std::int32_t cable_call = 20;             ///< pulled for four seconds in the set
    std::int32_t sore_call = 30;
};

class SimulatedHall {
  public:
    SimulatedHall(std::vector<HallMember> members, const HallTroubles& troubles, std::uint64_t seed,
                  SimulatedTarget& target, EveningOwner& owner,
                  std::function<Drill(AthleteId)> told);

    /// The program was cut off: another one goes on with the evening.
    void follow(EveningOwner& owner) { owner_ = &owner; }
    /// Each record of the evening, as it is made.
    void saw(const evening::EveningRecord& record, HostTime now);
    void due(HostTime now);
    [[nodiscard]] std::optional<HostTime> next_due() const;

    [[nodiscard]] const std::vector<PlantedStrike>& strikes() const { return strikes_; }
    /// Who stood at the rig from when on.
    [[nodiscard]] const std::vector<std::pair<HostTime, AthleteId>>& stood() const { return stood_; }
    [[nodiscard]] AthleteId stood_at(HostTime at) const;
    [[nodiscard]] std::int32_t touches() const { return touches_; }
    [[nodiscard]] std::int32_t refused() const { return refused_; }

  private:
    using Deed = std::function<void(HostTime)>;
    void later(HostTime at, Deed deed) { agenda_.emplace(at, std::move(deed)); }
    void step_up(AthleteId athlete, HostTime now);
    void step_back(HostTime now);
    void called(AthleteId athlete, HostTime now);
    void set_began(HostTime now);
    void set_done(HostTime now);
    /// Whoever is next on the stage, and strikes for the task.
    void next_walks_up(HostTime when);
    void ask(evening::Ask what, AthleteId athlete, HostTime now);
    void note_truths(HostTime now);
    [[nodiscard]] AthleteId another_than(AthleteId athlete, HostTime now) const;

    std::vector<HallMember> members_;
    HallTroubles troubles_;
    Random random_;
    SimulatedTarget& target_;
    EveningOwner* owner_;
    std::function<Drill(AthleteId)> told_;
    std::multimap<HostTime, Deed> agenda_;
    bool come_ = false;
    std::int32_t calls_ = -1;
    AthleteId standing_{}, called_{};
    std::uint64_t turns_stood_ = 0;
    std::optional<AthleteId> wrong_one_;
    std::vector<std::pair<HostTime, AthleteId>> stood_;
    std::vector<PlantedStrike> strikes_;
    std::vector<RigTruth> truths_;
    std::int32_t touches_ = 0, refused_ = 0;
};

/// Sixteen of Saltmarsh Hall, half of them juniors; ids are the caller's.
[[nodiscard]] std::vector<AthleteProfile> sixteen_athletes();

}  // namespace breakstep
