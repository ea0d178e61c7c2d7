#include "hall/evening/rig_now.hpp"

#include "core/journal/visiting.hpp"
#include "core/trade/vocabulary.hpp"

namespace breakstep {
namespace {

constexpr std::size_t notices_most = 12;

std::int64_t seconds_since(HostTime then, HostTime now) {
    return std::chrono::duration_cast<std::chrono::seconds>(now - then).count();
}

std::string hex(std::uint64_t id) {
    std::string text(16, '0');
    for (std::size_t at = text.size(); at-- > 0; id >>= 4U) text[at] = "0123456789abcdef"[id & 0xFU];
    return text;
}

}  // namespace

void RigNow::fold(const JournalEvent& event, HostTime now) {
    if (const auto* hit = std::get_if<PadHit>(&event)) {
        Pad& pad = pads_[static_cast<std::size_t>(hit->pad)];
        ++pad.strikes;
        pad.last = now;
    }
    if (const auto* edge = std::get_if<GateEdge>(&event))
        gates_[static_cast<std::size_t>(edge->gate)] = {edge->broken, now};
    if (std::holds_alternative<RigLost>(event)) lost_at_ = now;
    if (const auto* rig = std::get_if<RigConnected>(&event)) {
        lost_at_.reset();
        // The same boot kept its edges, and they say it themselves.
        if (boot_ == rig->boot) return;
        boot_ = rig->boot;
        for (const Channel& channel : rig->channels) {
            if (channel.kind != ChannelKind::gate || channel.role >= gate_role_count) continue;
            Gate& gate = gates_[channel.role];
            const bool broken = (rig->gates_broken >> channel.index & 1U) != 0;
            if (gate.broken != broken || (broken && !gate.since)) gate = {broken, now};
        }
    }
}

void RigNow::notice(const std::string& words, HostTime now) {
    notices_.emplace_front(now, words);
    if (notices_.size() > notices_most) notices_.pop_back();
}

RigNowSeen RigNow::seen(const Link& link, HostTime now) const {
    RigNowSeen seen;
    seen.answers = link.connected();
    if (!seen.answers && lost_at_) seen.heard_s = seconds_since(*lost_at_, now);
    if (link.bound() != unknown_uncertainty) seen.bound_us = static_cast<double>(link.bound().count() / 1000);
    // To the hundred: a view that says nothing new is not published.
    seen.frames = link.counters().frames / 100 * 100;
    seen.damaged = link.counters().damaged;
    seen.lost = link.counters().lost;
    if (const auto& rig = link.rig()) {
        seen.board = hex(static_cast<std::uint64_t>(rig->board));
        for (const Channel& channel : rig->channels) {
            RigPartSeen part;
            if (channel.kind == ChannelKind::pad && channel.role < pads_.size()) {
                const Pad& pad = pads_[channel.role];
                part = {"pad", std::string(word(static_cast<PadRole>(channel.role))), pad.strikes};
                if (pad.last) part.last_s = seconds_since(*pad.last, now);
            } else if (channel.kind == ChannelKind::gate && channel.role < gate_role_count) {
                const Gate& gate = gates_[channel.role];
                part = {"gate", std::string(word(static_cast<GateRole>(channel.role)))};
                if (gate.since) (gate.broken ? part.blocked_for : part.last_s) = seconds_since(*gate.since, now);
            } else if (channel.kind == ChannelKind::lamp) {
                part = {"lamp", std::string(word(static_cast<LampRole>(channel.role)))};
            } else if (channel.kind == ChannelKind::sync) {
                part = {"sync", "input"};
            } else {
                continue;
            }
            seen.parts.push_back(std::move(part));
        }
    }
    for (const auto& [at, words] : notices_) seen.notices.push_back({seconds_since(at, now) / 10 * 10, words});
    return seen;
}

}  // namespace breakstep
