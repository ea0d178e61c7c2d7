#include "truth/ledger.hpp"

#include <algorithm>
#include <cmath>

namespace breakstep::tests {
namespace {

constexpr double same_event_us = 1000;  // true events of one channel lie 1.5 ms apart or more

bool agrees(double truth, double told, bool peaks) {
    if (!peaks) return truth == told;
    // Looked at every 60 us or so, a blow that falls by half in 3 ms is told a few in a hundred too low; noise adds 2.
    return std::abs(std::min(truth, 1023.0) - told) <= 0.05 * truth + 4;
}

}  // namespace

int gate_of(GateRole role) {
    switch (role) {
        case GateRole::near_mark:
            return 0;
        case GateRole::attack_line:
        case GateRole::low:
            return 1;
        case GateRole::hip:
            return 2;
        case GateRole::far_mark:
            return 3;
        case GateRole::back_mark:
            return 4;
        case GateRole::hands:
        case GateRole::partner_back_mark:
            break;  // the board has no gate for hands, and nobody steps back here
    }
    return -1;
}

void Ledger::told(const GateEdge& edge) {
    gates_[static_cast<std::size_t>(gate_of(edge.gate))].told.push_back(
        {static_cast<double>(edge.at.since_boot().count()) * 1e-3, edge.broken ? 1.0 : 0.0});
}

void Ledger::told(const PadHit& hit) {
    pads_[static_cast<std::size_t>(hit.pad)].told.push_back(
        {static_cast<double>(hit.at.since_boot().count()) * 1e-3, static_cast<double>(hit.peak)});
}

void Ledger::compare(const Channel& channel, std::uint64_t clock_zero, bool peaks, StampErrors& out,
                     std::vector<double>& errors) {
    std::vector<Told> told = channel.told;
    std::stable_sort(told.begin(), told.end(), [](const Told& a, const Told& b) { return a.us < b.us; });
    std::size_t next = 0;
    const auto true_us = [&](std::size_t i) {
        return (static_cast<double>(channel.truth[i].cycle) - static_cast<double>(clock_zero)) / cycles_per_us;
    };
    for (const Told& one : told) {
        while (next < channel.truth.size() && true_us(next) < one.us - same_event_us) {
            ++out.lost;
            ++next;
        }
        if (next == channel.truth.size() || true_us(next) > one.us + same_event_us) {
            const bool again = next > 0 && std::abs(true_us(next - 1) - one.us) <= same_event_us;
            ++(again ? out.doubled : out.altered);
            continue;
        }
        if (!agrees(channel.truth[next].value, one.value, peaks)) ++out.altered;
        errors.push_back(one.us - true_us(next));
        ++out.events;
        ++next;
    }
    out.lost += channel.truth.size() - next;
}

StampErrors Ledger::compare(std::uint64_t clock_zero) const {
    StampErrors out;
    compare(gates_[0], clock_zero, false, out, out.capture_us);
    for (const std::size_t gate : {1U, 2U}) compare(gates_[gate], clock_zero, false, out, out.interrupt_us);
    for (const std::size_t gate : {3U, 4U}) compare(gates_[gate], clock_zero, false, out, out.pin_change_us);
    for (const Channel& pad : pads_) compare(pad, clock_zero, true, out, out.pads_us);
    return out;
}

}  // namespace breakstep::tests
