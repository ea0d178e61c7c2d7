// The club at a simulated rig while an evening runs live: whoever is called walks up, and the next one strikes for the
// task once the rig is free. Any call-sign has an athlete; those of the invented club have their own habits.
//
// Owned by the command; on the engine's thread. The rig must outlive it.
#pragma once

#include <functional>
#include <map>
#include <string>
#include <vector>

#include "core/random.hpp"
#include "devices/simulated/simulate_rig.hpp"
#include "hall/evening/evening_owner.hpp"

namespace breakstep {

class SimulatedMembers {
  public:
    SimulatedMembers(SimulatedRig& rig, const EveningOwner& owner, std::uint64_t seed,
                     std::function<std::string(AthleteId)> call_sign,
                     std::function<Drill(const std::string& drill)> told);

    void saw(const evening::EveningRecord& record, HostTime now);
    void due(HostTime now);

  private:
    using Deed = std::function<void(HostTime)>;
    void later(HostTime at, Deed deed) { agenda_.emplace(at, std::move(deed)); }
    void walk_up(AthleteId athlete, HostTime now);
    void walk_off(HostTime now);
    void into_the_box(const Drill& drill);
    void next_strikes(HostTime now);

    SimulatedRig& rig_;
    const EveningOwner& owner_;
    Random random_;
    std::function<std::string(AthleteId)> call_sign_;
    std::function<Drill(const std::string&)> told_;
    std::multimap<HostTime, Deed> agenda_;
    AthleteId standing_{};
};

}  // namespace breakstep
