// Lamp orders until their fate is known: repeated until the rig has accepted or refused them or their time has come,
// taken back if asked. At most 16 wait on the rig at once, as the protocol has it; more wait here.
//
// Part of the link; its thread. Lamps are bits by channel index here.
#pragma once

#include <cstdint>
#include <optional>
#include <vector>

#include "core/random.hpp"
#include "core/time.hpp"
#include "link/outbox.hpp"

namespace breakstep {

class LampOrders {
  public:
    LampOrders(Duration repeat, std::uint64_t seed);

    void set_repeat(Duration repeat) { repeat_ = repeat; }
    /// `due` is `at` by the host's clock, as well as it is known. Returns the order's id, 1 .. 65534.
    std::uint16_t order(HostTime now, TargetTime at, HostTime due, std::uint8_t affected, std::uint8_t lit,
                        Outbox& out);
    /// Takes back every order whose fate is not known.
    void cancel_all(HostTime now, BootId boot, Outbox& out);
    void accepted(std::uint16_t id);
    /// Carried out, refused or cancelled.
    void decided(HostTime now, std::uint16_t id, Outbox& out);
    void forget_all();

    void due(HostTime now, Outbox& out);
    [[nodiscard]] std::optional<HostTime> next_due() const;

    /// Orders whose time passed, or that were dropped, without a word from the rig.
    [[nodiscard]] std::uint64_t unanswered() const { return unanswered_; }

  private:
    enum class Stage : std::uint8_t { here, sent, accepted, cancelling };
    struct Order {
        std::uint16_t id = 0;
        TargetTime at;
        HostTime due;
        std::uint8_t affected = 0, lit = 0;
        Stage stage = Stage::here;
        HostTime repeat_at;
        std::int32_t cancels = 0;
    };
    /// The rig has room for so many at least.
    static constexpr std::size_t on_rig_max = 16;
    /// A cancelled order that the rig never got is answered by nothing.
    static constexpr std::int32_t cancels_max = 10;
    /// How long after its time an order's fate may come in before it is given up: several resends.
    static constexpr Duration patience = 2s;

    void send(Order& order, HostTime now, Outbox& out) const;
    void send_waiting(HostTime now, Outbox& out);
    void repeat(Order& order, HostTime now, Outbox& out) const;
    [[nodiscard]] std::optional<HostTime> next_due(const Order& order) const;

    Duration repeat_;
    std::uint16_t last_id_;
    std::vector<Order> orders_;
    std::uint64_t unanswered_ = 0;
};

}  // namespace breakstep
