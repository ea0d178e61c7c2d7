#include "tools/simulated_sessions.hpp"

#include "cli/session_setup.hpp"

namespace breakstep {
namespace {

constexpr HostTime virtual_begin{Duration{1'000'000'000}};
constexpr Duration between = 5s, longest = 7200s;

}  // namespace

SimulatedSessions::SimulatedSessions(std::uint64_t seed)
    : engine_(engine_settings({}, seed)),
      target_(simulated_target_settings(seed), virtual_begin),
      cues_(nullptr, virtual_begin),
      driver_(engine_, target_, journal_, cues_, nullptr, virtual_begin) {}

Expected<PlayedSession> SimulatedSessions::play(const Drill& drill, const AthleteProfile& athlete, std::uint64_t seed,
                                                bool returning) {
    SessionBegan began;
    began.session = SessionId{++sessions_};
    began.athlete = AthleteId{1};
    began.seed = seed;
    began.drill = drill;
    began.feedback = returning ? Feedback::silent_first : Feedback::at_once;
    SceneNames names;
    names.lift = drill.opponent.lift;
    names.seed = seed;
    driver_.pass(between);
    target_.set_athlete(driver_.now(), AthleteSettings::for_drill(athlete, drill, seed));
    const auto how = driver_.run(began, names, longest);
    if (!how) return tl::make_unexpected(how.error());
    const Score& score = *driver_.core().engine().score();
    return PlayedSession{score.reps(), score.totals()};
}

}  // namespace breakstep
