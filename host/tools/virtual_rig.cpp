#include "tools/virtual_rig.hpp"

#include "cli/session_setup.hpp"

namespace breakstep {
namespace {

constexpr HostTime switched_on{Duration{1'000'000'000}};

}  // namespace

VirtualRig::VirtualRig(const SimulatedTargetSettings& settings, std::uint64_t seed)
    : target(settings, switched_on),
      cues(nullptr, switched_on),
      driver(engine_settings({}, seed), target, journal, cues, nullptr, switched_on) {}

SessionBegan VirtualRig::next(const Drill& drill, std::uint64_t seed) {
    SessionBegan began;
    began.session = SessionId{++sessions_};
    began.athlete = AthleteId{1};
    began.seed = seed;
    began.drill = drill;
    return began;
}

SceneNames VirtualRig::names_of(const SessionBegan& session) {
    SceneNames names;
    names.lift = session.drill.opponent.lift;
    names.seed = session.seed;
    return names;
}

}  // namespace breakstep
