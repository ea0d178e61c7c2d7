// A mailbox that holds the latest value: one thread puts, one other thread takes, neither ever waits. Values that were
// overtaken before they were read are dropped; that is the purpose, since only the newest view is worth drawing.
//
// Three slots and one atomic byte (which slot lies ready, and whether it is new). put() only from the producer's
// thread, take() only from the consumer's. Never fails. A reference from take() stays valid until the next take().
#pragma once

#include <array>
#include <atomic>
#include <cstdint>
#include <utility>

namespace breakstep {

template <class Value>
class LatestValue {
  public:
    void put(Value value) {
        slots_[writing_] = std::move(value);
        const auto before = ready_.exchange(static_cast<std::uint8_t>(writing_ | fresh), std::memory_order_acq_rel);
        writing_ = before & slot_mask;
    }

    /// True if a value was put since the last call; latest() then is that value.
    bool take() {
        if ((ready_.load(std::memory_order_relaxed) & fresh) == 0) return false;
        const auto before = ready_.exchange(reading_, std::memory_order_acq_rel);
        reading_ = before & slot_mask;
        return true;
    }

    [[nodiscard]] const Value& latest() const { return slots_[reading_]; }

  private:
    static constexpr std::uint8_t slot_mask = 3;
    static constexpr std::uint8_t fresh = 4;

    std::array<Value, 3> slots_{};
    std::atomic<std::uint8_t> ready_{1};
    std::uint8_t writing_ = 0;  // the producer's own
    std::uint8_t reading_ = 2;  // the consumer's own
};

}  // namespace breakstep
