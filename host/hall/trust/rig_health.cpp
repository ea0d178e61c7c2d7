#include "hall/trust/rig_health.hpp"

#include <algorithm>
#include <string_view>
#include <utility>

#include "core/journal/visiting.hpp"
#include "core/trade/rules.hpp"

namespace breakstep {
namespace {

std::string named(std::string_view before, std::string_view name, std::string_view after) {
    std::string text(before);
    text.append(name).append(after);
    return text;
}

// A cue of ours is heard within this of its planned onset, with any loudspeaker.
constexpr Duration own_sound_span = 400ms;

template <class Container>
void drop_before(Container& times, TargetTime limit) {
    while (!times.empty() && (!times.front().same_boot(limit) || times.front() < limit)) times.pop_front();
}

}  // namespace

void RigHealth::restart() {
    for (Gate& gate : gates_) gate.broken.reset();
    for (Pad& pad : pads_) pad.recent.clear();
    foreign_sounds_.clear();
    own_sounds_.clear();
}

void RigHealth::fold(const JournalEvent& event, std::vector<HealthNotice>& out) {
    std::visit(
        Overloaded{
            [&](const RigConnected& connected) {
                restart();
                rig_ = connected;
                if (away_) out.push_back({"the rig is back", "the set goes on by itself", HealthNotice::About::back});
                away_ = false;
            },
            [&](const SessionBegan& began) { drill_ = began.drill; },
            [&](const SetPlanned&) {
                say_what_is_missing(out);
                say_what_the_drill_misses(out);
            },
            [&](const RigLost& lost) { on_lost(lost, out); }, [&](const RepVoided& voided) { on_void(voided, out); },
            [&](const EventSkipped& skipped) { on_skipped(skipped, out); },
            [&](const CueSourceChanged& changed) {
                out.push_back(
                    {named("the rig's lamps do not answer: attacks are cued by ", word(changed.source), " now"),
                     "look at the lamps' plug and supply; the next drill tries them again"});
            },
            [&](const ClockBound& bound) { on_bound(bound.bound, out); },
            [&](const SessionEnded& ended) {
                if (ended.how == SessionEnd::no_partner_gates)
                    out.push_back({"the gates that a partner's leg passes are not there, or stay dark",
                                   "set the rig's switch to partner and look at the low and the hip gate",
                                   HealthNotice::About::end});
                if (ended.how == SessionEnd::no_edge_gates)
                    out.push_back({"the partner's back mark or the near mark is not there, or stays dark",
                                   "stand a gate across the back of the partner's box and one on the near mark, plug "
                                   "them in, clear their beams, then begin again",
                                   HealthNotice::About::end});
                if (ended.how == SessionEnd::cannot_cue)
                    out.push_back({"nothing can show an attack: no lamp answers, and there is neither sound nor screen",
                                   "look at the rig's lamps, or run it with a loudspeaker or a window (without "
                                   "--headless)",
                                   HealthNotice::About::end});
            },
            [&](const PadHit& hit) {
                on_hit(hit, out);
                time_is(hit.at, out);
            },
            [&](const GateEdge& edge) {
                Gate& gate = gates_[static_cast<std::size_t>(edge.gate)];
                if (edge.broken)
                    gate.broken = edge.at;
                else
                    gate = {};
                time_is(edge.at, out);
            },
            [&](const LampsSet& lamps) { time_is(lamps.at, out); }, [&](const SyncEdge& sync) { on_sync(sync, out); },
            [&](const CueOnset& onset) {
                if (onset.source == OnsetSource::sound) own_sounds_.push_back(onset.at);
            },
            // A drill's own course says nothing of the rig.
            [](const OneOf<UnknownEvent, CalibrationUsed, VideoMark, EventsLost, LampsRefused, ClockRate, SetEnded,
                           RepOpened, PhaseBegan, RepClosed, StartStruck, IntervalCoin, CoachInput, NudgeShown,
                           SessionSuspended, SessionResumed, ContactSettled, LegExpected, PhaseSeen, PartnerCued,
                           CoinThrown> auto&) {}},
        event);
}

void RigHealth::on_bound(Uncertainty bound, std::vector<HealthNotice>& out) {
    const bool sure = bound != unknown_uncertainty && bound < bound_for_cues;
    if (!sure && !unsure_)
        out.push_back({"the rig's time is not sure enough for cues",
                       "the set waits until it is; a slow adapter or a loaded computer does that"});
    unsure_ = !sure;
}

// Once it matters: when a set is about to run on it.
void RigHealth::say_what_is_missing(std::vector<HealthNotice>& out) {
    if (rig_.channels.empty()) return;  // it said nothing of itself
    const auto has = [&](ChannelKind kind, std::uint8_t first, std::uint8_t last) {
        return std::any_of(rig_.channels.begin(), rig_.channels.end(), [&](const Channel& channel) {
            return channel.kind == kind && channel.role >= first && channel.role <= last;
        });
    };
    const auto missing = [&](std::uint8_t bit, std::string what, std::string to_do) {
        if ((told_missing_ & bit) != 0) return;
        told_missing_ = static_cast<std::uint8_t>(told_missing_ | bit);
        out.push_back({std::move(what), std::move(to_do)});
    };
    if (!has(ChannelKind::lamp, 0, static_cast<std::uint8_t>(LampRole::head)))
        missing(1, "the rig has no lamps",
                "attacks are cued by sound or screen alone; their delay is known once "
                "`rigs calibrate` has measured it");
    if (!has(ChannelKind::gate, 0, static_cast<std::uint8_t>(GateRole::back_mark)))
        missing(2, "the rig has no marks", "strikes are scored; steps, distance and rhythm are not read without gates");
}

// Who does what is asked where no gate sees it would be told to do it.
void RigHealth::say_what_the_drill_misses(std::vector<HealthNotice>& out) {
    if (!drill_ || rig_.channels.empty()) return;
    const auto has = [&](ChannelKind kind, std::size_t role) {
        return std::any_of(rig_.channels.begin(), rig_.channels.end(),
                           [&](const Channel& channel) { return channel.kind == kind && channel.role == role; });
    };
    const auto sees = [&](GateRole role) { return has(ChannelKind::gate, static_cast<std::size_t>(role)); };
    const auto say = [&](Missed missed, std::string what, std::string_view to_do) {
        const auto bit = static_cast<std::uint8_t>(1U << static_cast<unsigned>(missed));
        if ((told_missed_ & bit) != 0) return;
        told_missed_ = static_cast<std::uint8_t>(told_missed_ | bit);
        out.push_back({std::move(what), std::string(to_do)});
    };
    constexpr std::string_view put_up = "put the gate up and plug it in, or take another drill";
    if (drill_->start == StartKind::drawn) {
        struct DrawingAct {
            DrewBy by;
            std::optional<GateRole> seen_by;
        };
        constexpr DrawingAct acts[] = {{DrewBy::entry, GateRole::near_mark},
                                       {DrewBy::stop_short, GateRole::near_mark},
                                       {DrewBy::change_of_pace, GateRole::near_mark},
                                       {DrewBy::ground_given_twice, GateRole::far_mark},
                                       {DrewBy::hand_shown, GateRole::hands},
                                       {DrewBy::hand_hidden, GateRole::hands},
                                       {DrewBy::strike, std::nullopt}};
        bool seen = drill_->manners.names_none() && (sees(GateRole::near_mark) || sees(GateRole::far_mark));
        std::optional<GateRole> missing = GateRole::near_mark;
        for (const DrawingAct& act : acts) {
            if (!drill_->manners.names(act.by)) continue;
            seen = seen || !act.seen_by || sees(*act.seen_by);
            missing = act.seen_by;
        }
        if (!seen && missing == GateRole::hands)
            say(Missed::draw, "the rig has no gate for the front hand",
                "the coach says it: space in the window, each time the hand does what draws the attack");
        else if (!seen)
            say(Missed::draw,
                named("nothing will draw the attacks of ", drill_->name,
                      named(": the rig has no ", word(*missing), " mark")),
                put_up);
    }
    if (drill_->asks.rung == RungAim::range)
        for (const GateRole mark : {GateRole::near_mark, GateRole::far_mark})
            if (!sees(mark))
                say(Missed::room, named("room can't be judged: the rig has no ", word(mark), " mark"), put_up);
    const bool by_steps =
        drill_->start == StartKind::hunted || drill_->start == StartKind::lure || drill_->asks.out_within > Duration{};
    if (by_steps && !sees(GateRole::near_mark))
        say(Missed::steps, named("the steps of ", drill_->name, " are not seen: the rig has no near mark"), put_up);
    if (drill_->asks.off_line && !sees(GateRole::attack_line))
        say(Missed::line, "whether the line was left is not seen: the rig has no attack line", put_up);
    for (const AttackChoice& attack : drill_->attacks) {
        if (attack.pads == 0 || drill_->asks.rung == RungAim::range) continue;
        bool any = false;
        for (const PadRole pad : {PadRole::high_left, PadRole::high_right, PadRole::low_left, PadRole::low_right})
            any = any || ((attack.pads & pad_bit(pad)) != 0 && has(ChannelKind::pad, static_cast<std::size_t>(pad)));
        if (!any)
            say(Missed::pads,
                named("no strike can be right: the rig has none of the pads that ", drill_->name, " asks for"),
                "plug them in, or take a drill that asks for any pad");
    }
}

void RigHealth::on_lost(const RigLost& lost, std::vector<HealthNotice>& out) {
    // A reset that ends a silence is the same trouble, told by its cause.
    away_ = true;
    if (lost.reason == VoidReason::board_reset)
        out.push_back({"the rig has started anew", "look at its supply and its cable; what was open is given again"});
    else if (lost.reason == VoidReason::clock_jump)
        out.push_back({"the rig's clock or this computer's jumped",
                       "what was open is given again; if it comes again, "
                       "start the rig and this program anew"});
    else
        out.push_back(
            {"the rig does not answer", "look at its cable and supply; it is waited for", HealthNotice::About::away});
}

void RigHealth::on_void(const RepVoided& voided, std::vector<HealthNotice>& out) {
    if (voided.reason != VoidReason::cue_late || told_late_) return;
    told_late_ = true;
    out.push_back({"a lamp was not lit at its time",
                   "an attack that was shown late or in part does not count and is given again; if it goes on, look "
                   "for what keeps the rig or this computer busy"});
}

void RigHealth::on_skipped(const EventSkipped& skipped, std::vector<HealthNotice>& out) {
    const bool unknown = skipped.reason == SkipReason::unknown_type;
    bool& told = unknown ? told_unknown_ : told_range_;
    if (told) return;
    told = true;
    if (unknown)
        out.push_back({"the rig tells things that are not known here (event type " + std::to_string(skipped.type) + ")",
                       "they are counted and left out; a newer breakstep may know them"});
    else
        out.push_back({"the rig tells values that can't be (event type " + std::to_string(skipped.type) + ")",
                       "they are counted and left out; look at its firmware"});
}

void RigHealth::fold(const RepResult& rep, std::vector<HealthNotice>& out) {
    if (rep.void_reason != VoidReason::impossible_stamps || told_backwards_) return;
    told_backwards_ = true;
    out.push_back({"the rig's stamps run backwards", "reps with such stamps do not count; look at its firmware"});
}

void RigHealth::fold(const LinkCounters& counted, std::vector<HealthNotice>& out) {
    if (!counted_before_) counted_before_ = counted;
    const std::uint64_t damaged = counted.damaged - counted_before_->damaged;
    const std::uint64_t whole = counted.frames - counted_before_->frames;
    if (told_damage_ || damaged < damaged_frames || damaged * damaged_share < damaged + whole) return;
    told_damage_ = true;
    out.push_back({"the line to the rig is damaged: " + std::to_string(damaged) + " of " +
                       std::to_string(damaged + whole) + " messages were no good",
                   "nothing is lost while they can be asked for again; look at the cable, its plugs and its length"});
}

std::string line_summary(const LinkCounters& before, const LinkCounters& after) {
    const auto since = [&](auto member) { return after.*member - before.*member; };
    std::string text = std::to_string(since(&LinkCounters::frames)) + " messages";
    const auto add = [&](std::uint64_t count, std::string_view what) {
        if (count > 0) text.append(", ").append(std::to_string(count)).append(what);
    };
    const std::uint64_t bytes = since(&LinkCounters::bytes), damaged_bytes = since(&LinkCounters::damaged_bytes);
    if (since(&LinkCounters::damaged) == 0) text += ", none damaged";
    add(since(&LinkCounters::damaged), " damaged");
    if (damaged_bytes > 0) text += " (" + std::to_string(damaged_bytes) + " of " + std::to_string(bytes) + " bytes)";
    add(since(&LinkCounters::asked_again), " asked for again");
    add(since(&LinkCounters::doubled), " came twice");
    add(since(&LinkCounters::skipped) + since(&LinkCounters::unknown), " not understood");
    add(since(&LinkCounters::lost), " lost");
    const std::uint64_t resets = since(&LinkCounters::resets), jumps = since(&LinkCounters::clock_jumps);
    add(resets, resets == 1 ? " reset" : " resets");
    add(jumps, jumps == 1 ? " clock jump" : " clock jumps");
    return text;
}

void RigHealth::time_is(TargetTime now, std::vector<HealthNotice>& out) {
    for (std::size_t i = 0; i < gates_.size(); ++i) {
        Gate& gate = gates_[i];
        if (!gate.broken || gate.told || !gate.broken->same_boot(now) || now - *gate.broken < blocked_too_long)
            continue;
        gate.told = true;
        out.push_back({named("the gate ", word(static_cast<GateRole>(i)), " has been blocked for 3 s"),
                       "clear its beam, or align it again"});
    }
}

void RigHealth::on_hit(const PadHit& hit, std::vector<HealthNotice>& out) {
    for (std::size_t i = 0; i < pads_.size(); ++i) {
        Pad& pad = pads_[i];
        if (i == static_cast<std::size_t>(hit.pad)) {
            ++pad.strikes;
            pad.missing = 0;
            pad.told_quiet = false;
            continue;
        }
        ++pad.missing;
        if (pad.strikes < strikes_before || pad.missing < strikes_without || pad.told_quiet) continue;
        pad.told_quiet = true;
        out.push_back({named("the pad ", word(static_cast<PadRole>(i)), " has gone quiet"),
                       "strike it once; if nothing comes, look at its plug and clamp"});
    }
    Pad& struck = pads_[static_cast<std::size_t>(hit.pad)];
    drop_before(struck.recent, hit.at - alone_span);
    struck.recent.push_back(hit.at);
    if (static_cast<int>(struck.recent.size()) >= alone_hits && !struck.told_alone) {
        struck.told_alone = true;
        out.push_back({named("the pad ", word(hit.pad), " fires alone"),
                       "look at its plug and clamp, or raise its threshold with `rigs calibrate`"});
    }
}

void RigHealth::on_sync(const SyncEdge& edge, std::vector<HealthNotice>& out) {
    if (!edge.rising) return;
    drop_before(own_sounds_, edge.at - loud_span);
    const bool ours = std::any_of(own_sounds_.begin(), own_sounds_.end(), [&](TargetTime own) {
        return own.same_boot(edge.at) && edge.at - own >= Duration{} && edge.at - own < own_sound_span;
    });
    if (ours) return;
    drop_before(foreign_sounds_, edge.at - loud_span);
    foreign_sounds_.push_back(edge.at);
    if (static_cast<int>(foreign_sounds_.size()) < loud_edges || told_loud_) return;
    told_loud_ = true;
    out.push_back({"the hall is too loud for sound cues", "let the lamps cue, or move the loudspeaker nearer"});
}

}  // namespace breakstep
