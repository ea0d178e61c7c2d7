#include "link/lamp_orders.hpp"

#include <algorithm>

#include "link/ticks.hpp"

namespace breakstep {

namespace {

constexpr std::uint16_t order_id_max = 65534;
constexpr std::uint16_t every_order = 65535;

void push_cancel(BootId boot, std::uint16_t id, Outbox& out) {
    wire_message message{};
    message.type = WIRE_LAMP_CANCEL;
    message.as.lamp_cancel.boot = static_cast<std::uint32_t>(boot);
    message.as.lamp_cancel.order = id;
    out.push(message);
}

}  // namespace

// A rig remembers the ids of its last orders, so a program that starts anew must not begin with the same ones.
LampOrders::LampOrders(Duration repeat, std::uint64_t seed)
    : repeat_(repeat), last_id_(static_cast<std::uint16_t>(1 + Random(seed, 2).below(order_id_max))) {}

std::uint16_t LampOrders::order(HostTime now, TargetTime at, HostTime due, std::uint8_t affected, std::uint8_t lit,
                                Outbox& out) {
    last_id_ = last_id_ >= order_id_max ? 1 : static_cast<std::uint16_t>(last_id_ + 1);
    Order order;
    order.id = last_id_;
    order.at = at;
    order.due = due;
    order.affected = affected;
    order.lit = lit;
    orders_.push_back(order);
    send_waiting(now, out);
    return last_id_;
}

void LampOrders::send(Order& order, HostTime now, Outbox& out) const {
    wire_message message{};
    message.type = WIRE_LAMP_ORDER;
    message.as.lamp_order.boot = static_cast<std::uint32_t>(order.at.boot());
    message.as.lamp_order.order = order.id;
    message.as.lamp_order.at = ticks_from(order.at);
    message.as.lamp_order.affected = order.affected;
    message.as.lamp_order.lit = order.lit;
    out.push(message);
    order.stage = Stage::sent;
    order.repeat_at = now + repeat_;
}

void LampOrders::send_waiting(HostTime now, Outbox& out) {
    const auto waits_on_rig = [&](const Order& order) { return order.stage != Stage::here && now < order.due; };
    auto on_rig = static_cast<std::size_t>(std::count_if(orders_.begin(), orders_.end(), waits_on_rig));
    for (Order& order : orders_) {
        if (order.stage != Stage::here) continue;
        if (on_rig++ >= on_rig_max) return;
        send(order, now, out);
    }
}

void LampOrders::cancel_all(HostTime now, BootId boot, Outbox& out) {
    std::erase_if(orders_, [](const Order& order) { return order.stage == Stage::here; });
    if (orders_.empty()) return;
    push_cancel(boot, every_order, out);
    for (Order& order : orders_) {
        order.stage = Stage::cancelling;
        order.repeat_at = now + repeat_;
    }
}

void LampOrders::accepted(std::uint16_t id) {
    for (Order& order : orders_) {
        if (order.id == id && order.stage == Stage::sent) order.stage = Stage::accepted;
    }
}

void LampOrders::decided(HostTime now, std::uint16_t id, Outbox& out) {
    std::erase_if(orders_, [&](const Order& order) { return order.id == id; });
    send_waiting(now, out);
}

void LampOrders::forget_all() {
    for (const Order& order : orders_) unanswered_ += order.stage == Stage::sent || order.stage == Stage::here ? 1 : 0;
    orders_.clear();
}

/// Repeats name the order: "every order" would take back those that were made since.
void LampOrders::repeat(Order& order, HostTime now, Outbox& out) const {
    if (order.stage == Stage::sent) {
        send(order, now, out);
    } else if (order.stage == Stage::cancelling) {
        push_cancel(order.at.boot(), order.id, out);
        ++order.cancels;
        order.repeat_at = now + repeat_;
    }
}

std::optional<HostTime> LampOrders::next_due(const Order& order) const {
    const HostTime given_up = order.due + patience;
    const bool repeats =
        order.stage == Stage::cancelling || (order.stage == Stage::sent && order.repeat_at < order.due);
    return repeats ? std::min(order.repeat_at, given_up) : given_up;
}

void LampOrders::due(HostTime now, Outbox& out) {
    for (Order& order : orders_) {
        const bool is_over = order.stage == Stage::sent && now >= order.due;
        if (!is_over && now >= order.repeat_at) repeat(order, now, out);
    }
    std::erase_if(orders_, [&](const Order& order) {
        const bool given_up = now >= order.due + patience || order.cancels >= cancels_max;
        if (given_up && order.stage != Stage::accepted) ++unanswered_;
        return given_up;
    });
    send_waiting(now, out);
}

std::optional<HostTime> LampOrders::next_due() const {
    std::optional<HostTime> next;
    for (const Order& order : orders_) {
        const std::optional<HostTime> time = next_due(order);
        if (time && (!next || *time < *next)) next = time;
    }
    return next;
}

}  // namespace breakstep
