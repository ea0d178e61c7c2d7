// Requests that the rig answers with a value: settings, counters, and the stream of pad levels. Repeated every 250 ms
// until answered, four times at most; doing one twice does no harm.
//
// Part of the link; its thread.
#pragma once

#include <cstdint>
#include <optional>
#include <vector>

#include "core/time.hpp"
#include "link/outbox.hpp"

namespace breakstep {

class Requests {
  public:
    /// A setting to be read or set; a newer request for the same key and index replaces the older.
    void setting(HostTime now, const wire_message& request, Outbox& out);
    void counters(HostTime now, Outbox& out);
    void levels(HostTime now, bool on, Outbox& out);

    void setting_answered(std::uint8_t key, std::uint8_t index);
    void counters_answered();
    /// A level came; if it is unwanted, the rig is told again.
    void level_came(HostTime now, Outbox& out);

    /// The rig is there (again): levels are off on its side.
    void connected(HostTime now, Outbox& out);
    void forget();
    void due(HostTime now, Outbox& out);
    [[nodiscard]] std::optional<HostTime> next_due() const;
    [[nodiscard]] std::uint64_t unanswered() const { return unanswered_; }

  private:
    struct Request {
        wire_message message{};
        HostTime repeat_at;
        std::int32_t sent = 0;
    };
    static constexpr Duration period = 250ms;
    static constexpr std::int32_t sent_max = 4;
    static void send(Request& request, HostTime now, Outbox& out);
    void add(HostTime now, const wire_message& message, Outbox& out);

    std::vector<Request> requests_;
    bool levels_wanted_ = false;
    std::optional<HostTime> levels_sent_;
    std::uint64_t unanswered_ = 0;
};

}  // namespace breakstep
