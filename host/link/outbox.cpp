#include "link/outbox.hpp"

#include <algorithm>

namespace breakstep {

FrameId Outbox::push_frame(OutFrame frame) {
    frame.id = FrameId{++last_id_};
    if (waiting_.size() + ready_.size() < frames_max) {
        waiting_.push_back(frame);
    } else {
        ++dropped_;
    }
    return frame.id;
}

FrameId Outbox::push(const wire_message& message) {
    OutFrame frame;
    frame.size = static_cast<std::uint8_t>(wire_encode_frame(&message, frame.bytes.data()));
    return push_frame(frame);
}

FrameId Outbox::push_first(const wire_message& message) {
    std::array<std::uint8_t, WIRE_FRAME_MAX> bytes{};
    const std::size_t size = wire_encode_frame(&message, bytes.data());
    if (size + 1 > bytes.size()) broken_invariant("a first frame leaves no room for its zero");
    OutFrame frame;
    std::copy_n(bytes.begin(), size, frame.bytes.begin() + 1);
    frame.size = static_cast<std::uint8_t>(size + 1);
    return push_frame(frame);
}

void Outbox::clear() {
    waiting_.clear();
    ready_.clear();
}

void Outbox::release(HostTime now) {
    while (!waiting_.empty()) {
        std::optional<HostTime>& oldest = released_[next_];
        if (oldest && now - *oldest < span && now >= *oldest) return;
        oldest = now;
        next_ = (next_ + 1) % released_.size();
        ready_.push_back(waiting_.front());
        waiting_.pop_front();
    }
}

std::optional<HostTime> Outbox::next_release() const {
    if (waiting_.empty()) return std::nullopt;
    const std::optional<HostTime>& oldest = released_[next_];
    return oldest ? *oldest + span : HostTime{};
}

void Outbox::drain(std::vector<OutFrame>& out) {
    out.insert(out.end(), ready_.begin(), ready_.end());
    ready_.clear();
}

}  // namespace breakstep
