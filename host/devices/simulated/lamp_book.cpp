#include "devices/simulated/lamp_book.hpp"

#include <algorithm>

namespace breakstep {
namespace {

constexpr std::size_t remembered = 32;                 // PROTOCOL.md asks for 16 at least
constexpr std::uint64_t furthest_ticks = 120'000'000;  // 60 s
constexpr std::uint16_t every_order = 65535;

}  // namespace

std::uint8_t LampBook::refusal(const LampOrder& wanted, std::uint64_t now_ticks) const {
    if ((wanted.affected >> lamps_) != 0) return WIRE_REFUSED_NO_LAMP;
    if (wanted.at <= now_ticks) return WIRE_REFUSED_TOO_LATE;
    if (wanted.at - now_ticks > furthest_ticks) return WIRE_REFUSED_TOO_FAR;
    if (waiting_.size() >= room_) return WIRE_REFUSED_QUEUE_FULL;
    return 0;
}

LampBook::Decision LampBook::order(const LampOrder& wanted, std::uint64_t now_ticks) {
    if (wanted.id == 0 || wanted.id == every_order) return {Answer::ignored};
    const auto same = [&](const auto& known) { return known.id == wanted.id; };
    if (std::any_of(waiting_.begin(), waiting_.end(), same)) return {Answer::accepted_before};
    if (const auto known = std::find_if(decided_.rbegin(), decided_.rend(), same); known != decided_.rend())
        return {known->accepted ? Answer::accepted_before : Answer::refused_before};

    const std::uint8_t reason = refusal(wanted, now_ticks);
    remember(wanted.id, reason == 0);
    if (reason != 0) return {Answer::refused, reason};
    const auto place = std::upper_bound(waiting_.begin(), waiting_.end(), wanted,
                                        [](const LampOrder& a, const LampOrder& b) { return a.at < b.at; });
    waiting_.insert(place, wanted);
    return {Answer::accepted};
}

void LampBook::remember(std::uint16_t id, bool accepted) {
    decided_.push_back({id, accepted});
    if (decided_.size() > remembered) decided_.pop_front();
}

std::vector<std::uint16_t> LampBook::cancel(std::uint16_t id) {
    std::vector<std::uint16_t> dropped;
    std::erase_if(waiting_, [&](const LampOrder& order) {
        const bool named = id == every_order || order.id == id;
        if (named) dropped.push_back(order.id);
        return named;
    });
    for (const std::uint16_t one : dropped) remember(one, true);
    return dropped;
}

std::optional<LampOrder> LampBook::carry_out(std::uint64_t now_ticks) {
    if (waiting_.empty() || waiting_.front().at > now_ticks) return std::nullopt;
    const LampOrder order = waiting_.front();
    waiting_.erase(waiting_.begin());
    remember(order.id, true);  // anew: others may have been decided while it waited
    lit_ = static_cast<std::uint8_t>((lit_ & ~order.affected) | (order.lit & order.affected));
    return order;
}

std::optional<std::uint64_t> LampBook::next_ticks() const {
    if (waiting_.empty()) return std::nullopt;
    return waiting_.front().at;
}

void LampBook::restart() {
    waiting_.clear();
    decided_.clear();
    lit_ = 0;
}

}  // namespace breakstep
