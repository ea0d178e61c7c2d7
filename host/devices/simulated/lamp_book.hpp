// The lamp orders of a simulated rig: accepted, refused, carried out once, cancelled. Knows no wire frames; RigModel
// owns it and calls it in order of time. Pure; one thread.
#pragma once

#include <cstddef>
#include <cstdint>
#include <deque>
#include <optional>
#include <vector>

#include "wire/wire.h"

namespace breakstep {

struct LampOrder {
    std::uint16_t id = 0;
    std::uint64_t at = 0;  ///< ticks
    std::uint8_t affected = 0, lit = 0;
};

class LampBook {
  public:
    LampBook(std::size_t lamps, std::size_t room) : lamps_(lamps), room_(room) {}

    enum class Answer { ignored, accepted, accepted_before, refused_before, refused };
    struct Decision {
        Answer answer{};
        std::uint8_t reason = 0;  ///< a wire_refusal if refused
    };
    /// PROTOCOL.md section 11, "what the rig does with an order".
    Decision order(const LampOrder& wanted, std::uint64_t now_ticks);
    /// Drops the waiting orders that `id` names (65535: all), in order of their times.
    [[nodiscard]] std::vector<std::uint16_t> cancel(std::uint16_t id);
    /// Takes the earliest waiting order that is due, and sets the lamps.
    [[nodiscard]] std::optional<LampOrder> carry_out(std::uint64_t now_ticks);
    [[nodiscard]] std::optional<std::uint64_t> next_ticks() const;
    /// A boot: dark, and no order known.
    void restart();

    [[nodiscard]] std::uint8_t lit() const { return lit_; }  ///< bit i: lamp i

  private:
    struct Decided {
        std::uint16_t id;
        bool accepted;
    };
    void remember(std::uint16_t id, bool accepted);
    [[nodiscard]] std::uint8_t refusal(const LampOrder& wanted, std::uint64_t now_ticks) const;

    std::size_t lamps_, room_;
    std::vector<LampOrder> waiting_;  ///< by time, then by acceptance
    std::deque<Decided> decided_;     ///< oldest first
    std::uint8_t lit_ = 0;
};

}  // namespace breakstep
