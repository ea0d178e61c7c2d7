#include "app/trust/rig_health.hpp"

#include <algorithm>
#include <string_view>

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
    if (std::holds_alternative<RigConnected>(event)) {
        restart();
    } else if (const auto* hit = std::get_if<PadHit>(&event)) {
        on_hit(*hit, out);
        time_is(hit->at, out);
    } else if (const auto* edge = std::get_if<GateEdge>(&event)) {
        Gate& gate = gates_[static_cast<std::size_t>(edge->gate)];
        if (edge->broken) {
            gate.broken = edge->at;
        } else {
            gate = {};
        }
        time_is(edge->at, out);
    } else if (const auto* lamps = std::get_if<LampsSet>(&event)) {
        time_is(lamps->at, out);
    } else if (const auto* sync = std::get_if<SyncEdge>(&event)) {
        on_sync(*sync, out);
    } else if (const auto* onset = std::get_if<CueOnset>(&event);
               onset != nullptr && onset->source == OnsetSource::sound) {
        own_sounds_.push_back(onset->at);
    }
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
