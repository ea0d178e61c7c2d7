// The rig comes, goes and comes back.
#include <algorithm>
#include <utility>

#include "core/conduct/state.hpp"

namespace breakstep {

void Conduct::State::on_rig(const RigConnected& connected, const Now& now) {
    const bool other_boot = rig && rig->boot != connected.boot, rig_first = !rig;
    rig = connected;
    rig_lamps = 0;
    lamp_bound = Uncertainty{};
    for (const Channel& channel : connected.channels)
        // A role of a newer rig is kept in the list and means nothing here.
        if (channel.kind == ChannelKind::lamp && channel.role < lamp_role_count) {
            rig_lamps = static_cast<LampSet>(rig_lamps | (1U << channel.role));
            lamp_bound = std::max(lamp_bound, channel.bound);
        }
    leg.connect(connected, other_boot || rig_first || std::exchange(leg_stale, false));
    if (other_boot) {
        // Its ring, its lamps and its clock are gone: what was open can't be told any more.
        close_as_void(VoidReason::board_reset);
        lamp_orders.clear();
        last_end.reset();
        last_close.reset();
        promised.reset();
        last_contact.reset();
        bound_good = false;
    }
    if (with_partner() && !leg.fitted()) return end_session(SessionEnd::no_partner_gates, now);
    if (drill.asks.rung == RungAim::edge && !can_see_the_edge(connected, rig_first))
        return end_session(SessionEnd::no_edge_gates, now);
    if (!can_cue()) {
        end_session(SessionEnd::cannot_cue, now);
        return;
    }
    lost = false;
    lost_since.reset();
    scene.trouble.reset();
    if (!bound_good) unsure_since = now.host;
    show();
    ready_if_possible(now);
}

void Conduct::State::on_bound(Uncertainty bound, const Now& now) {
    bound_good = bound != unknown_uncertainty && bound < bound_for_cues;
    if (bound_good) {
        unsure_since.reset();
        if (scene.trouble == VoidReason::bound_too_wide) scene.trouble.reset();
    } else if (!lost) {
        unsure_since = now.host;
        scene.trouble = VoidReason::bound_too_wide;
    }
    show();
    ready_if_possible(now);
}

void Conduct::State::on_lost(const RigLost& gone, const Now& now) {
    lost = true;
    bound_good = false;
    if (!lost_since) lost_since = now.host;
    unsure_since.reset();
    lost_meanwhile = true;
    scene.trouble = gone.reason;
    for (OpenRep& rep : open_reps) rep.was_away = true;
    if (gone.reason == VoidReason::clock_jump) close_as_void(VoidReason::clock_jump);
    // A count that can't be trusted is begun again by a strike.
    if (scene.kind == SceneKind::counting) {
        commands.push_back(CancelSounds{});
        scene.kind = SceneKind::awaiting_start;
    }
    show();
}

void Conduct::State::ready_if_possible(const Now& now) {
    if (lost || !bound_good || !now.rig) return;
    if (scene.kind == SceneKind::waiting_for_rig || scene.kind == SceneKind::awaiting_start) {
        await_start(now);
        return;
    }
    if (scene.kind != SceneKind::running || scene.paused) return;
    // Moments that passed meanwhile can't be cued any more, and those of another boot mean nothing now.
    const bool stale = !upcoming.empty() && scheduled() &&
                       (!upcoming.front().onset.same_boot(*now.rig) || upcoming.front().onset < *now.rig + open_ahead);
    if (stale) redraw(lost_meanwhile ? RedrawReason::rig_back : RedrawReason::bound_wide, now);
    lost_meanwhile = false;
    if (!scheduled() && wait_began && !wait_began->same_boot(*now.rig)) wait_began = *now.rig;
    end_set_if_over(now);
}

void Conduct::State::on_lamps(std::uint16_t order, TargetTime at) {
    const auto found = lamp_orders.find(order);
    if (found == lamp_orders.end()) return;
    const CueRef cue = found->second;
    lamp_orders.erase(found);
    OpenRep* rep = open_rep(cue.rep);
    if (rep != nullptr && rep->partner) append(PartnerCued{cue.rep, at, lamp_bound, OnsetSource::lamp});
    if (rep != nullptr && rep->source == OnsetSource::lamp) confirm(*rep, cue.index, at, lamp_bound, OnsetSource::lamp);
}

void Conduct::State::on_refused(std::uint16_t order, const Now& now) {
    const auto found = lamp_orders.find(order);
    if (found == lamp_orders.end()) return;
    const CueRef cue = found->second;
    lamp_orders.erase(found);
    if (OpenRep* rep = open_rep(cue.rep)) rep->refused = true;
    const bool is_ready = cue.rep == ready_cue.rep && cue.index == ready_cue.index;
    if (is_ready && scene.kind == SceneKind::awaiting_start && !lost && now.rig && ready_tries < ready_tries_max)
        light_ready(ready_again_ahead, now);
}

OnsetSource Conduct::State::best_source() const {
    if (drill.lamps && (rig_lamps & all_lamps) != 0 && !lamps_left) return OnsetSource::lamp;
    if (drill.sound && devices.sound) return OnsetSource::sound;
    return OnsetSource::screen;
}

bool Conduct::State::can_cue() const {
    if (with_partner()) return can_cue_partner();
    const bool by_lamps = drill.lamps && (rig_lamps & all_lamps) != 0 && !lamps_left;
    return by_lamps || (drill.sound && devices.sound) || (drill.screen && devices.screen);
}

void Conduct::State::leave_lamps(const Now& now) {
    lamps_left = true;
    commands.push_back(CancelLamps{});
    if (!can_cue()) {
        end_session(SessionEnd::cannot_cue, now);
        return;
    }
    append(CueSourceChanged{best_source()});
    // What is open was to be cued by lamps.
    for (OpenRep& rep : open_reps) make_void(rep, VoidReason::lamps_silent);
    if (scheduled()) redraw(RedrawReason::lamps_silent, now);
}

}  // namespace breakstep
