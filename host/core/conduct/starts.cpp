// Attacks that have no moment of their own in the plan: drawn by the athlete's act, hunted at a predicted entry, lured
// by a beat, an answer to the athlete's strike, tapped by the coach. Their order and lengths still come from the plan.
#include <algorithm>

#include "core/conduct/state.hpp"

namespace breakstep {

bool Conduct::State::scheduled() const {
    return !with_partner() && (drill.start == StartKind::random || drill.start == StartKind::pattern);
}

std::optional<TargetTime> Conduct::State::fallback_due() const {
    if (with_partner() || drill.start == StartKind::tapped || upcoming.empty() || !open_reps.empty() || !wait_began)
        return std::nullopt;
    if (drill.start == StartKind::lure) return *wait_began + lure_patience;
    // An opponent that answers strikes attacks by itself as any other: its orders leave so much before the lift.
    if (drill.start == StartKind::countered)
        return *wait_began + std::max(Duration{}, upcoming.front().planned.wait - cue_ahead - open_ahead);
    return *wait_began + longest_silence;
}

void Conduct::State::open_called(const Call& call, TargetTime onset, const Now& now) {
    if (upcoming.empty()) return;
    Upcoming next = upcoming.front();
    upcoming.pop_front();
    next.onset = onset;
    next.end = onset + next.planned.length();
    open(std::move(next), call, now);
}

// The opponent's own delay, which can be learned, where the drill gives one; else anywhere between the two.
Duration Conduct::State::drawn_delay() {
    if (drill.drawn.mean > Duration{})
        return Duration(static_cast<std::int64_t>(
            random.lognormal(static_cast<double>(drill.drawn.mean.count()), drill.drawn.spread)));
    return Duration(static_cast<std::int64_t>(
        random.uniform(static_cast<double>(drawn_soonest.count()), static_cast<double>(drawn_latest.count()))));
}

Duration Conduct::State::delay_of(const Manner& manner) {
    if (manner.delay <= Duration{}) return {};
    return Duration(
        static_cast<std::int64_t>(random.lognormal(static_cast<double>(manner.delay.count()), drill.manners.spread)));
}

bool Conduct::State::draws_by(DrewBy act) const {
    constexpr std::uint8_t usual = (1U << static_cast<unsigned>(DrewBy::entry)) |
                                   (1U << static_cast<unsigned>(DrewBy::stop_short)) |
                                   (1U << static_cast<unsigned>(DrewBy::ground_given_twice));
    if (drill.manners.names_none()) return (usual >> static_cast<unsigned>(act) & 1U) != 0;
    return drill.manners.names(act);
}

void Conduct::State::on_act(const ActSeen& act, const Now& now) {
    const bool called =
        drill.start == StartKind::drawn || drill.start == StartKind::hunted || drill.start == StartKind::lure;
    if (!called || scene.kind != SceneKind::running || lost || scene.paused || !bound_good || !now.rig) return;
    if (drill.start == StartKind::lure) return follow_beat(act, now);
    // The coin is thrown at every entry, whether or not an attack could follow, and holds until the next: it must not
    // depend on anything the athlete does in between.
    if (act.act == Act::entry) {
        interval_may_be_cued = random.chance(drill.start == StartKind::hunted ? hunted_share : 1 - drill.withheld);
        append(IntervalCoin{act.sequence, *interval_may_be_cued});
    }
    const bool may_be_cued = interval_may_be_cued.value_or(drill.start == StartKind::drawn);
    if (!may_be_cued || upcoming.empty() || !open_reps.empty()) return;
    if (drill.start == StartKind::drawn) {
        draw(act, now);
    } else if (act.act == Act::entry && act.window_begin && act.window_end) {
        const TargetTime onset = act.at + (*act.window_begin + *act.window_end) / 2;
        if (onset >= *now.rig + cue_ahead)
            open_called({StartKind::hunted, act.sequence, DrewBy::entry, act.at}, onset, now);
    }
}

// What the opponent makes of an act: a stop kick at a step in, a hop in after who gives ground, or its usual attack.
void Conduct::State::draw(const ActSeen& act, const Now& now) {
    constexpr DrewBy acts[] = {DrewBy::entry,        DrewBy::stop_short, DrewBy::ground_given_twice,
                               DrewBy::ground_given, DrewBy::hand_shown, DrewBy::hand_hidden};
    Call call{StartKind::drawn, act.sequence, acts[static_cast<std::size_t>(act.act)], act.at};
    if (act.act == Act::entry && act.changed_pace && draws_by(DrewBy::change_of_pace)) call.by = DrewBy::change_of_pace;
    const Manners& manners = drill.manners;
    Duration after{};
    if (act.act == Act::entry && manners.stepped_at.share > 0 && random.chance(manners.stepped_at.share)) {
        call.start = StartKind::stepped_at;
        after = delay_of(manners.stepped_at);
    } else if (act.act == Act::ground_given) {
        if (manners.retreated_from.share <= 0 || !random.chance(manners.retreated_from.share)) return;
        call.start = StartKind::retreated_from;
        after = delay_of(manners.retreated_from);
    } else if (draws_by(call.by)) {
        after = drawn_delay();
    } else {
        return;
    }
    open_called(call, std::max(act.at + after, *now.rig + cue_ahead), now);
}

// The opponent commits to the next step in as soon as the beat is clear; until then it only looks.
void Conduct::State::follow_beat(const ActSeen& act, const Now& now) {
    constexpr std::size_t shown = 6;
    if (act.act != Act::entry || !open_reps.empty() || upcoming.empty()) return;
    if (!scene.lure) scene.lure.emplace();
    SceneLure& lure = *scene.lure;
    const auto keep = [](std::vector<TargetTime>& times, TargetTime at) {
        if (!times.empty() && !times.front().same_boot(at)) times.clear();
        if (times.size() == shown) times.erase(times.begin());
        times.push_back(at);
    };
    keep(lure.entries, act.at);
    lure.follows = false;
    if (act.window_begin && act.window_end) {
        const TargetTime expected = act.at + (*act.window_begin + *act.window_end) / 2;
        keep(lure.expected, expected);
        if (act.follows && expected >= *now.rig + cue_ahead) {
            lure.follows = true;
            open_called({StartKind::lure, act.sequence, DrewBy::entry, act.at}, expected, now);
        }
    }
    show();
}

void Conduct::State::on_strike(const PadHit& hit, const Now& now) {
    if (scene.kind != SceneKind::running || lost || scene.paused || !bound_good || !now.rig || upcoming.empty()) return;
    for (const OpenRep& rep : open_reps)
        if (rep.opened.onset.same_boot(hit.at) && hit.at < rep.opened.close && hit.at >= rep.opened.onset - drill.lead)
            return answer_strike(rep, hit, now);
    const Manners& manners = drill.manners;
    const bool opens_door = (manners.door_pads & pad_bit(hit.pad)) != 0 && drill.start == StartKind::drawn;
    if (!opens_door || !open_reps.empty() || !interval_may_be_cued.value_or(true)) return;
    if (!random.chance(manners.door.share)) return;
    const TargetTime onset = std::max(hit.at + std::max(door_after, delay_of(manners.door)), *now.rig + cue_ahead);
    open_called({StartKind::drawn, hit.sequence, DrewBy::strike, hit.at}, onset, now);
}

// The opponent counters the athlete's strike: once its own attack is over, and not where the next is ordered already.
void Conduct::State::answer_strike(const OpenRep& rep, const PadHit& hit, const Now& now) {
    const Manner& struck = drill.manners.struck;
    if (drill.start != StartKind::countered || struck.share <= 0 || &rep != &open_reps.back()) return;
    if (rep.contact_seen || rep.opened.asked.kind == AttackKind::feint) return;
    open_reps.back().contact_seen = true;
    if (!random.chance(struck.share) || rep.borders.empty()) return;
    const TargetTime over = rep.borders.back() + behind_attack;
    const TargetTime onset = std::max({hit.at + delay_of(struck), over, *now.rig + cue_ahead});
    open_called({StartKind::countered, hit.sequence, DrewBy::strike, hit.at}, onset, now);
}

// Where no gate sees the athlete's hand the coach's tap says that it was shown, or hidden: now.
std::optional<DrewBy> Conduct::State::tap_draws() const {
    if (drill.start != StartKind::drawn) return std::nullopt;
    for (const DrewBy act : {DrewBy::hand_shown, DrewBy::hand_hidden})
        if (drill.manners.names(act)) return act;
    return std::nullopt;
}

std::size_t Conduct::State::tapped_one(std::int32_t choice) const {
    const auto found = std::find_if(upcoming.begin(), upcoming.end(), [choice](const Upcoming& next) {
        return choice < 0 || next.planned.attack == choice;
    });
    return static_cast<std::size_t>(found - upcoming.begin());
}

std::optional<std::string_view> Conduct::State::tap_refusal(const CoachInput& input) const {
    if (drill.start != StartKind::tapped && !tap_draws()) return "this drill's attacks are not called by the coach";
    if (scene.kind != SceneKind::running) return "no set is running";
    if (scene.paused) return "the drill is paused: let it go on first";
    if (lost || !bound_good) return "the rig is not ready";
    if (!open_reps.empty()) return "the attack before is still under way";
    if (tapped_one(input.choice) == upcoming.size()) return "no such attack is left in this set";
    return std::nullopt;
}

void Conduct::State::on_tap(const CoachInput& input, const Now& now) {
    if (!now.rig || tap_refusal(input)) return;
    if (const auto act = tap_draws()) {
        // The secret coin holds for whatever draws; a tap of an interval that may not be cued draws nothing.
        if (!interval_may_be_cued.value_or(true)) return;
        return open_called({StartKind::drawn, 0, *act, *now.rig}, *now.rig + std::max(cue_ahead, drawn_delay()), now);
    }
    // The tapped one comes now; the others keep their order and numbers.
    if (with_partner() && input.choice < 0) {
        if (!take_listed(upcoming.front())) return;
    } else {
        std::swap(upcoming[tapped_one(input.choice)].planned, upcoming.front().planned);
    }
    if (with_partner()) {
        Upcoming next = std::move(upcoming.front());
        upcoming.pop_front();
        next.onset = *now.rig + tap_ahead;
        return open_partner(std::move(next), StartKind::tapped, true, now);
    }
    open_called({StartKind::tapped}, *now.rig + tap_ahead, now);
}

}  // namespace breakstep
