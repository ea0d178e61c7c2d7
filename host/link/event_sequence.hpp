// Puts the rig's events into their sequence: holds what came too early, knows what is missing, and says what to ask
// for.
//
// Part of the link; its thread. Sequence numbers are compared modulo 65536; a rig never keeps so many that this is
// ambiguous. Holds 256 events; one still farther ahead is passed over and asked for later.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <variant>
#include <vector>

#include "core/time.hpp"
#include "wire/wire.h"

namespace breakstep {

/// Sequence numbers that will never come, ends included.
struct LostSpan {
    std::uint16_t first = 0, last = 0;
    [[nodiscard]] std::uint16_t count() const { return static_cast<std::uint16_t>(last - first + 1); }
};

/// How far `a` is after `b`, negative if before.
[[nodiscard]] constexpr std::int32_t sequence_distance(std::uint16_t a, std::uint16_t b) {
    return static_cast<std::int16_t>(static_cast<std::uint16_t>(a - b));
}

class EventSequence {
  public:
    using Item = std::variant<wire_message, LostSpan>;
    struct Ask {
        std::uint16_t first = 0;
        std::uint8_t count = 0;
    };

    explicit EventSequence(Duration repeat) : repeat_(repeat), held_(held_max) {}

    void set_repeat(Duration repeat) { repeat_ = repeat; }
    /// A new boot: everything up to `through` is taken as delivered.
    void begin(std::uint16_t through);

    enum class Taken : std::uint8_t { in_sequence, held, doubled, too_far };
    Taken receive(const wire_message& event);
    /// The rig's newest event is `sequence`: whatever is not here yet is missing.
    void newest_is(std::uint16_t sequence);
    /// The rig has no more of [first, last]. False if that says nothing about what is missing next.
    bool overwritten(std::uint16_t first, std::uint16_t last);
    /// The missing will never come: lets go what is held, the holes as LostSpans.
    void let_go();
    /// Known to exist, behind all that was received: lost if the boot is over.
    [[nodiscard]] std::optional<LostSpan> rest() const;

    /// Events and holes, in sequence, since the last call.
    void take(std::vector<Item>& out);
    [[nodiscard]] std::uint16_t delivered() const { return delivered_; }
    [[nodiscard]] bool complete_through(std::uint16_t sequence) const {
        return sequence_distance(delivered_, sequence) >= 0;
    }

    /// What to ask for now: first what was newly found missing, later all again. At most 16 events at once.
    void ask(HostTime now, std::vector<Ask>& out);
    /// When ask() should be called again; nullopt if nothing is missing.
    [[nodiscard]] std::optional<HostTime> next_ask() const;
    /// Nothing came in answer to the last ask.
    [[nodiscard]] bool is_unanswered() const { return unanswered_; }
    /// The line was lost: asks under way are void.
    void forget_asks();

  private:
    static constexpr std::size_t held_max = 256;
    static constexpr std::int32_t asked_max = 16;

    [[nodiscard]] std::optional<wire_message>& slot(std::uint16_t sequence) { return held_[sequence % held_max]; }
    [[nodiscard]] bool is_held(std::uint16_t sequence) const;
    void deliver_held();
    void deliver_through(std::uint16_t last);

    Duration repeat_;
    std::vector<std::optional<wire_message>> held_;
    std::vector<Item> ready_;
    std::uint16_t delivered_ = 0;
    std::uint16_t newest_ = 0;          ///< known to exist
    std::uint16_t asked_through_ = 0;   ///< holes up to here were asked for
    std::optional<HostTime> asked_at_;  ///< nullopt: nothing is under way
    bool unanswered_ = false;
};

}  // namespace breakstep
