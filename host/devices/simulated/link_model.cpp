#include "devices/simulated/link_model.hpp"

#include <algorithm>
#include <cmath>

namespace breakstep {
namespace {

constexpr std::size_t adapter_full = 62;  // payload of a 64-byte packet of common adapters, from memory

Duration nanoseconds(double ns) { return Duration(std::llround(ns)); }

HostTime next_tick(HostTime time, Duration step) {
    const std::int64_t since = time.time_since_epoch().count();
    return HostTime(Duration((since / step.count() + 1) * step.count()));
}

std::optional<LinkModel::Arrival> first_by(HostTime now, std::deque<LinkModel::Arrival>& lumps) {
    if (lumps.empty() || lumps.front().at > now) return std::nullopt;
    LinkModel::Arrival first = std::move(lumps.front());
    lumps.pop_front();
    return first;
}

std::size_t bytes_in(const std::deque<LinkModel::Arrival>& lumps) {
    std::size_t sum = 0;
    for (const LinkModel::Arrival& lump : lumps) sum += lump.bytes.size();
    return sum;
}

}  // namespace

LinkModel::LinkModel(const LinkModelSettings& settings) : settings_(settings), random_(settings.seed, 11) {}

HostTime LinkModel::handed_to_line(HostTime written) {
    switch (settings_.adapter) {
        case AdapterKind::pty:
            return written + nanoseconds(random_.exponential(15e3));
        case AdapterKind::usb_cdc:
            return written + nanoseconds(random_.uniform(20e3, 150e3));
        case AdapterKind::one_millisecond:
        case AdapterKind::latency_timer_16:
            return next_tick(written, 1ms) + nanoseconds(random_.uniform(5e3, 60e3));
    }
    return written;
}

HostTime LinkModel::handed_to_host(HostTime ready) {
    HostTime handed = ready;
    switch (settings_.adapter) {
        case AdapterKind::pty:
            handed += nanoseconds(5e3 + random_.exponential(25e3));
            break;
        case AdapterKind::usb_cdc:
            handed += nanoseconds(random_.uniform(50e3, 400e3));
            break;
        case AdapterKind::one_millisecond:
            handed = next_tick(ready, 1ms) + nanoseconds(random_.uniform(10e3, 80e3));
            break;
        case AdapterKind::latency_timer_16:
            handed = next_tick(ready, 16ms) + nanoseconds(random_.uniform(10e3, 80e3));
            break;
    }
    if (random_.chance(settings_.stall)) handed += nanoseconds(random_.uniform(1e6, 20e6));
    return handed;
}

void LinkModel::damage_one(std::span<const std::uint8_t> frame, std::vector<std::uint8_t>& out) {
    const std::uint32_t place = random_.below(static_cast<std::uint32_t>(frame.size()));
    const std::uint32_t how = random_.below(4);
    for (std::uint32_t i = 0; i < frame.size(); ++i) {
        if (i != place) {
            out.push_back(frame[i]);
            continue;
        }
        if (how == 0) continue;                                                      // a byte is lost
        if (how == 1) out.push_back(static_cast<std::uint8_t>(random_.below(256)));  // one comes in
        const bool flipped = how >= 2;                                               // or bits turn over
        out.push_back(static_cast<std::uint8_t>(frame[i] ^ (flipped ? 1 + random_.below(255) : 0)));
    }
}

std::vector<std::uint8_t> LinkModel::damaged(std::span<const std::uint8_t> bytes, double chance, Direction& direction,
                                             std::uint64_t& counter) {
    std::vector<std::uint8_t> out;
    while (!bytes.empty()) {
        const auto zero = std::find(bytes.begin(), bytes.end(), std::uint8_t{0});
        const bool whole = zero != bytes.end();
        const auto part = bytes.first(static_cast<std::size_t>(zero - bytes.begin()) + (whole ? 1 : 0));
        const bool begins = !direction.inside_frame && part.size() > 1;
        if (begins && chance > 0 && random_.chance(chance)) {
            damage_one(part, out);
            ++counter;
        } else {
            out.insert(out.end(), part.begin(), part.end());
        }
        direction.inside_frame = !whole;
        bytes = bytes.subspan(part.size());
    }
    return out;
}

void LinkModel::from_host(HostTime now, std::span<const std::uint8_t> bytes) {
    if (!plugged_) {
        counters_.bytes_lost += bytes.size();
        return;
    }
    if (bytes.empty()) return;
    const auto sent = damaged(bytes, settings_.damage_to_rig, to_rig_, counters_.damaged_to_rig);
    to_rig_.line_free = std::max(to_rig_.line_free, handed_to_line(now));
    std::vector<std::uint8_t> frame;
    for (const std::uint8_t byte : sent) {
        to_rig_.line_free += settings_.byte_time;
        frame.push_back(byte);
        if (byte == 0) to_rig_.lumps.push_back({to_rig_.line_free, std::exchange(frame, {})});
    }
    if (!frame.empty()) to_rig_.lumps.push_back({to_rig_.line_free, std::move(frame)});
}

void LinkModel::from_rig(HostTime now, std::span<const std::uint8_t> bytes) {
    if (!plugged_) {
        counters_.bytes_lost += bytes.size();
        return;
    }
    const auto sent = damaged(bytes, settings_.damage_to_host, to_host_, counters_.damaged_to_host);
    to_host_.line_free = std::max(to_host_.line_free, now);
    for (const std::uint8_t byte : sent) {
        to_host_.line_free += settings_.byte_time;
        auto& lumps = to_host_.lumps;
        if (!lumps.empty() && lumps.back().at >= to_host_.line_free) {
            Arrival& open = lumps.back();
            open.bytes.push_back(byte);
            const bool full = settings_.adapter == AdapterKind::latency_timer_16 && open.bytes.size() == adapter_full;
            if (full) open.at = std::min(open.at, to_host_.line_free);
        } else {
            const HostTime before = lumps.empty() ? HostTime{} : lumps.back().at;
            lumps.push_back({std::max(before, handed_to_host(to_host_.line_free)), {byte}});
        }
    }
}

std::optional<LinkModel::Arrival> LinkModel::to_rig(HostTime now) { return first_by(now, to_rig_.lumps); }
std::optional<LinkModel::Arrival> LinkModel::to_host(HostTime now) { return first_by(now, to_host_.lumps); }

void LinkModel::plug(bool in) {
    if (plugged_ == in) return;
    plugged_ = in;
    for (Direction* direction : {&to_rig_, &to_host_}) {
        counters_.bytes_lost += bytes_in(direction->lumps);
        direction->lumps.clear();
        direction->inside_frame = false;
    }
}

}  // namespace breakstep
