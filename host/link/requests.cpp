#include "link/requests.hpp"

#include <algorithm>

namespace breakstep {

namespace {

bool is_setting(const wire_message& message) {
    return message.type == WIRE_SETTING_SET || message.type == WIRE_SETTING_GET;
}

bool ask_the_same(const wire_message& a, const wire_message& b) {
    if (is_setting(a) && is_setting(b)) {
        return a.as.setting.key == b.as.setting.key && a.as.setting.index == b.as.setting.index;
    }
    return a.type == b.type;
}

wire_message levels_message(bool on) {
    wire_message message{};
    message.type = WIRE_LEVELS;
    message.as.levels.on = on ? 1 : 0;
    return message;
}

}  // namespace

void Requests::send(Request& request, HostTime now, Outbox& out) {
    out.push(request.message);
    request.repeat_at = now + period;
    ++request.sent;
}

void Requests::add(HostTime now, const wire_message& message, Outbox& out) {
    std::erase_if(requests_, [&](const Request& request) { return ask_the_same(request.message, message); });
    requests_.push_back({message, now, 0});
    send(requests_.back(), now, out);
}

void Requests::setting(HostTime now, const wire_message& request, Outbox& out) { add(now, request, out); }

void Requests::counters(HostTime now, Outbox& out) {
    wire_message message{};
    message.type = WIRE_COUNTERS_REQUEST;
    add(now, message, out);
}

/// The stream itself is the answer to "on"; "off" is told again by level_came().
void Requests::levels(HostTime now, bool on, Outbox& out) {
    levels_wanted_ = on;
    levels_sent_ = now;
    std::erase_if(requests_, [](const Request& request) { return request.message.type == WIRE_LEVELS; });
    if (on) {
        add(now, levels_message(true), out);
    } else {
        out.push(levels_message(false));
    }
}

void Requests::setting_answered(std::uint8_t key, std::uint8_t index) {
    std::erase_if(requests_, [&](const Request& request) {
        return is_setting(request.message) && request.message.as.setting.key == key &&
               request.message.as.setting.index == index;
    });
}

void Requests::counters_answered() {
    std::erase_if(requests_, [](const Request& request) { return request.message.type == WIRE_COUNTERS_REQUEST; });
}

void Requests::level_came(HostTime now, Outbox& out) {
    std::erase_if(requests_, [](const Request& request) { return request.message.type == WIRE_LEVELS; });
    if (levels_wanted_ || (levels_sent_ && now - *levels_sent_ < period)) return;
    levels_sent_ = now;
    out.push(levels_message(false));
}

void Requests::connected(HostTime now, Outbox& out) {
    if (levels_wanted_) levels(now, true, out);
}

void Requests::forget() {
    unanswered_ += requests_.size();
    requests_.clear();
}

void Requests::due(HostTime now, Outbox& out) {
    for (Request& request : requests_) {
        if (now >= request.repeat_at && request.sent < sent_max) send(request, now, out);
    }
    unanswered_ += std::erase_if(
        requests_, [&](const Request& request) { return request.sent >= sent_max && now >= request.repeat_at; });
}

std::optional<HostTime> Requests::next_due() const {
    std::optional<HostTime> next;
    for (const Request& request : requests_) next = next ? std::min(*next, request.repeat_at) : request.repeat_at;
    return next;
}

}  // namespace breakstep
