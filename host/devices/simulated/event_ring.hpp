// The simulated rig's events: numbered from 1 at each boot, kept until acknowledged, sent again on request; the oldest
// gives way when the ring is full, and is counted. A value owned by RigModel.
#pragma once

#include <cstddef>
#include <cstdint>
#include <deque>
#include <optional>
#include <vector>

#include "wire/wire.h"

namespace breakstep {

class EventRing {
  public:
    explicit EventRing(std::size_t capacity) : capacity_(capacity) {}

    /// Numbers the event, keeps it, and gives it back as it is to be sent.
    const wire_message& add(wire_message event);
    /// Forgets everything up to `through`. Numbers that are not kept change nothing.
    void acknowledge(std::uint16_t through);
    /// What a request for `count` events from `first` brings: those kept go to `found`; `gone` is the first and last of
    /// those that existed and are kept no more.
    struct Gone {
        std::uint16_t first = 0, last = 0;
    };
    std::optional<Gone> find(std::uint16_t first, std::uint8_t count, std::vector<wire_message>& found) const;

    [[nodiscard]] std::uint16_t newest() const { return newest_; }
    [[nodiscard]] std::uint16_t oldest_kept() const;
    [[nodiscard]] std::uint64_t overwritten() const { return overwritten_; }
    [[nodiscard]] std::size_t size() const { return kept_.size(); }

  private:
    std::size_t capacity_;
    std::deque<wire_message> kept_;
    std::uint16_t newest_ = 0;
    std::uint64_t overwritten_ = 0;
};

}  // namespace breakstep
