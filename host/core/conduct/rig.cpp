// The rig comes, goes and comes back.
#include <algorithm>

#include "core/conduct/state.hpp"

namespace breakstep {

void Conduct::State::on_rig(const RigConnected& connected, const Now& now) {
    const bool other_boot = rig && rig->boot != connected.boot;
    rig = connected;
    rig_lamps = 0;
    lamp_bound = Uncertainty{};
    for (const Channel& channel : connected.channels)
        // A role of a newer rig is kept in the list and means nothing here.
        if (channel.kind == ChannelKind::lamp && channel.role <= static_cast<std::uint8_t>(LampRole::ready)) {
            rig_lamps = static_cast<LampSet>(rig_lamps | (1U << channel.role));
            lamp_bound = std::max(lamp_bound, channel.bound);
        }
    if (other_boot) {
        // Its ring, its lamps and its clock are gone: what was open can't be told any more.
        close_as_void(VoidReason::board_reset);
        lamp_orders.clear();
        last_end.reset();
        bound_good = false;
    }
    lost = false;
    lost_since.reset();
    scene.trouble.reset();
    show();
    ready_if_possible(now);
}

void Conduct::State::on_lost(const RigLost& gone, const Now& now) {
    lost = true;
    bound_good = false;
    if (!lost_since) lost_since = now.host;
    scene.trouble = gone.reason;
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
    if (stale) redraw(now);
    if (!scheduled() && wait_began && !wait_began->same_boot(*now.rig)) wait_began = *now.rig;
    end_set_if_over(now);
}

void Conduct::State::on_lamps(std::uint16_t order, TargetTime at) {
    const auto found = lamp_orders.find(order);
    if (found == lamp_orders.end()) return;
    const CueRef cue = found->second;
    lamp_orders.erase(found);
    OpenRep* rep = open_rep(cue.rep);
    if (rep != nullptr && rep->source == OnsetSource::lamp) confirm(*rep, cue.index, at, lamp_bound, OnsetSource::lamp);
}

void Conduct::State::on_refused(std::uint16_t order) {
    const auto found = lamp_orders.find(order);
    if (found == lamp_orders.end()) return;
    if (OpenRep* rep = open_rep(found->second.rep)) rep->refused = true;
    lamp_orders.erase(found);
}

OnsetSource Conduct::State::best_source() const {
    if (drill.lamps && rig_lamps != 0) return OnsetSource::lamp;
    if (drill.sound && devices.sound) return OnsetSource::sound;
    return OnsetSource::screen;
}

}  // namespace breakstep
