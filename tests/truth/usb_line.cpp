#include "truth/usb_line.hpp"

#include <algorithm>

namespace breakstep::tests {
namespace {

constexpr Duration frame_period = 1ms;    // full-speed USB
constexpr Duration latency_timer = 16ms;  // what widespread adapters wait by default
constexpr std::size_t packet_bytes = 62;  // 64 less two of status
constexpr Duration transfer = 50us;

}  // namespace

HostTime UsbLine::next_tick(HostTime time, Duration period) {
    const std::int64_t since = time.time_since_epoch().count();
    return HostTime(Duration((since / period.count() + 1) * period.count()));
}

/// Mostly tens of microseconds; now and then something else has the processor, for up to 20 ms.
Duration UsbLine::lateness() {
    if (random_.chance(0.003)) return Duration(static_cast<std::int64_t>(random_.uniform(0, 20e6)));
    return Duration(static_cast<std::int64_t>(random_.exponential(60e3)));
}

void UsbLine::damage(std::uint8_t& value) {
    if (!random_.chance(settings_.damage)) return;
    value = static_cast<std::uint8_t>(value ^ (1 + random_.below(255)));
    ++damaged_;
}

void UsbLine::from_rig(HostTime ended, std::uint8_t value) {
    damage(value);
    const HostTime tick = next_tick(ended, settings_.slow_latency_timer ? latency_timer : frame_period);
    if (!growing_ || tick != tick_) {
        tick_ = tick;
        growing_ = true;
        last_arrival_ = std::max(last_arrival_, tick + transfer + lateness());
        chunks_.push_back({last_arrival_, {}});
    }
    Chunk& chunk = chunks_.back();
    chunk.bytes.push_back(value);
    if (chunk.bytes.size() < packet_bytes || !settings_.slow_latency_timer) return;
    // A full packet does not wait for the timer.
    growing_ = false;
    HostTime earliest = next_tick(ended, frame_period) + transfer + lateness();
    if (chunks_.size() > 1) earliest = std::max(earliest, chunks_[chunks_.size() - 2].at);
    chunk.at = std::min(chunk.at, earliest);
    last_arrival_ = chunk.at;
}

std::optional<HostTime> UsbLine::next_due() const {
    return chunks_.empty() ? std::nullopt : std::optional(chunks_.front().at);
}

UsbLine::Chunk UsbLine::take() {
    Chunk chunk = std::move(chunks_.front());
    chunks_.pop_front();
    if (chunks_.empty()) growing_ = false;
    return chunk;
}

HostTime UsbLine::to_rig(HostTime now, std::vector<std::uint8_t>& bytes) {
    for (std::uint8_t& byte : bytes) damage(byte);
    const Duration call(static_cast<std::int64_t>(random_.exponential(15e3)));
    last_begun_ = std::max(last_begun_, next_tick(now + call, frame_period) + transfer);
    return last_begun_;
}

}  // namespace breakstep::tests
