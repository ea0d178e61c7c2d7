#include "tools/simulated_sessions.hpp"

#include "cli/session_setup.hpp"

namespace breakstep {
namespace {

constexpr Duration between = 5s, longest = 7200s;

}  // namespace

SimulatedSessions::SimulatedSessions(std::uint64_t seed) : rig_(simulated_target_settings(seed), seed) {}

Expected<PlayedSession> SimulatedSessions::play(const Drill& drill, const AthleteProfile& athlete, std::uint64_t seed,
                                                bool returning) {
    SessionBegan began = rig_.next(drill, seed);
    began.feedback = returning ? Feedback::silent_first : Feedback::at_once;
    rig_.driver.pass(between);
    rig_.target.set_athlete(rig_.driver.now(), AthleteSettings::for_drill(athlete, drill, seed));
    const auto how = rig_.driver.run(began, VirtualRig::names_of(began), longest);
    if (!how) return tl::make_unexpected(how.error());
    const Score& score = *rig_.driver.core().engine().score();
    return PlayedSession{score.reps(), score.totals()};
}

}  // namespace breakstep
