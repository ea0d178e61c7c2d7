// Attacks that have no moment of their own in the plan: drawn by the athlete's act, hunted at a predicted entry, tapped
// by the coach. Their order and lengths still come from the plan.
#include <algorithm>

#include "core/conduct/state.hpp"

namespace breakstep {

bool Conduct::State::scheduled() const { 
    return !with_partner() && (drill.start == StartKind::random || drill.start == StartKind::pattern);
}

std::optional<TargetTime> Conduct::State::fallback_due() const {
    if (with_partner() || drill.start == StartKind::tapped || upcoming.empty() || !open_reps.empty() || !wait_began) return std::nullopt;
    return *wait_began + longest_silence;
}

void Conduct::State::open_called(StartKind start, std::uint16_t trigger, TargetTime onset, const Now& now) {
    if (upcoming.empty()) return;
    Upcoming next = upcoming.front();
    upcoming.pop_front();
    next.onset = onset;
    next.end = onset + next.planned.length();
    open(std::move(next), start, trigger, now);
}

// The opponent's own delay, which can be learned, where the drill gives one; else anywhere between the two.
Duration Conduct::State::drawn_delay() {
    if (drill.drawn.mean > Duration{})
        return Duration(static_cast<std::int64_t>(
            random.lognormal(static_cast<double>(drill.drawn.mean.count()), drill.drawn.spread)));
    return Duration(static_cast<std::int64_t>(
        random.uniform(static_cast<double>(drawn_soonest.count()), static_cast<double>(drawn_latest.count()))));
}

void Conduct::State::on_act(const ActSeen& act, const Now& now) {
    const bool called = drill.start == StartKind::drawn || drill.start == StartKind::hunted;
    if (!called || scene.kind != SceneKind::running || lost || scene.paused || !bound_good || !now.rig) return;
    // The coin is thrown at every entry, whether or not an attack could follow, and holds until the next: it must not
    // depend on anything the athlete does in between.
    if (act.act == Act::entry) {
        interval_may_be_cued = random.chance(drill.start == StartKind::hunted ? hunted_share : 1 - drill.withheld);
        append(IntervalCoin{act.sequence, *interval_may_be_cued});
    }
    const bool may_be_cued = interval_may_be_cued.value_or(drill.start == StartKind::drawn);
    if (!may_be_cued || upcoming.empty() || !open_reps.empty()) return;
    if (drill.start == StartKind::drawn) {
        const TargetTime onset = std::max(act.at + drawn_delay(), *now.rig + cue_ahead);
        open_called(StartKind::drawn, act.sequence, onset, now);
    } else if (act.act == Act::entry && act.window_begin && act.window_end) {
        const TargetTime onset = act.at + (*act.window_begin + *act.window_end) / 2;
        if (onset >= *now.rig + cue_ahead) open_called(StartKind::hunted, act.sequence, onset, now);
    }
}

std::size_t Conduct::State::tapped_one(std::int32_t choice) const {
    const auto found = std::find_if(upcoming.begin(), upcoming.end(), [choice](const Upcoming& next) {
        return choice < 0 || next.planned.attack == choice;
    });
    return static_cast<std::size_t>(found - upcoming.begin());
}

std::optional<std::string_view> Conduct::State::tap_refusal(const CoachInput& input) const {
    if (drill.start != StartKind::tapped) return "this drill's attacks are not called by the coach";
    if (scene.kind != SceneKind::running) return "no set is running";
    if (scene.paused) return "the drill is paused: let it go on first";
    if (lost || !bound_good) return "the rig is not ready";
    if (!open_reps.empty()) return "the attack before is still under way";
    if (tapped_one(input.choice) == upcoming.size()) return "no such attack is left in this set";
    return std::nullopt;
}

void Conduct::State::on_tap(const CoachInput& input, const Now& now) {
    if (!now.rig || tap_refusal(input)) return;
    // The tapped one comes now; the others keep their order and numbers.
    std::swap(upcoming[tapped_one(input.choice)].planned, upcoming.front().planned);
    if (with_partner()) {
        Upcoming next = std::move(upcoming.front());
        upcoming.pop_front();
        next.onset = *now.rig + tap_ahead;
        return open_partner(std::move(next), StartKind::tapped, true, now);
    }
    open_called(StartKind::tapped, 0, *now.rig + tap_ahead, now);
}

}  // namespace breakstep
