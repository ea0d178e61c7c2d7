// What the rig saw, in the order in which it happened: pad hits and gate edges sorted by stamp and, within one stamp,
// by sequence number, whatever the order they came in.
//
// Owned by Score; its thread. Times are ns since the boot that Score has checked them against, so that no two boots can
// meet here. Bounded: a stretch with more than a few thousand edges is folded into the zone tracker early, and of more
// than a few thousand hits the ones in the middle are only counted. Can't fail.
#pragma once

#include <cstddef>
#include <cstdint>
#include <vector>

#include "core/score/score.hpp"
#include "core/score/zone_tracker.hpp"
#include "core/time.hpp"
#include "core/trade/rules.hpp"
#include "core/trade/vocabulary.hpp"

namespace breakstep::scoring {

/// A strike, merged: the earliest stamp is its time, the strongest pad names it.
struct Contact {
    Duration at{};
    std::uint16_t sequence = 0;
    PadRole stamped_by{};  ///< the pad whose stamp `at` is
    PadRole pad{};
    std::uint16_t peak = 0;
};

/// A break of the near mark.
struct Break {
    Duration at{};
    std::uint16_t sequence = 0;
};

struct ZoneAt {
    Duration from{};
    Zone zone{};
};

/// Everything that the gates told in [begin, end).
struct Stretch {
    Duration begin{}, end{};
    std::vector<ZoneAt> zones;                        ///< the first is the zone at begin; in order of time
    std::vector<Break> near_breaks;                   ///< every break of the near mark, in order
    std::vector<Duration> entries;                    ///< first breaks of inward passes of the near mark
    std::vector<Duration> far_outward, back_outward;  ///< first breaks of outward passes
    std::vector<Duration> impossible;                 ///< what no body can do
    std::vector<ZoneAt> partner_back;  ///< passes of the partner's back mark, and where the athlete was then
    bool near_broken = false;

    [[nodiscard]] Zone zone_at(Duration at) const;
    /// Whether the athlete was inside at any time of [from, to).
    [[nodiscard]] bool inside_during(Duration from, Duration to) const;
    /// Time in [begin, end) between the marks, and with the zone known at all.
    [[nodiscard]] Duration time_between() const;
    [[nodiscard]] Duration time_known() const;
};

class RigLog {
  public:
    /// A new boot, or the first: forgets all.
    void begin_boot(GateSet gates);

    void add_hit(const Contact& hit);
    void add_edge(Duration at, std::uint16_t sequence, GateRole gate, bool broken);
    /// From here on nobody knows where the athlete is: events were lost, or the link was.
    void add_forgetting(Duration at, std::uint16_t sequence);

    /// Takes the contacts before `limit` out, merged, in order. A strike felt on both sides of it goes by its first.
    void take_contacts(Duration limit, std::vector<Contact>& out);
    /// The same contacts, which stay.
    void see_contacts(Duration limit, std::vector<Contact>& out) const;
    /// Follows the gates to `end` and returns what they told from `begin`. The next stretch can't begin before `end`.
    /// Valid until the next call.
    [[nodiscard]] const Stretch& close(Duration begin, Duration end);

    [[nodiscard]] GateSet gates() const { return gates_; }
    /// Hits that a flood of them pushed out before any rep could take them.
    [[nodiscard]] std::int32_t pushed_out() const { return pushed_out_; }

  private:
    enum class What : std::uint8_t { broken, restored, contact, forgetting };
    struct Item {
        Duration at{};
        std::uint16_t sequence = 0;
        What what{};
        GateRole gate{};
    };
    std::size_t merge_contacts(Duration limit, std::vector<Contact>& out) const;
    void add(const Item& item);
    void advance(Duration end);
    void follow(const Item& item);
    void note_zone(Duration at);

    std::vector<Contact> hits_;
    std::vector<Item> items_;
    GateSet gates_ = 0;
    ZoneTracker tracker_;
    Stretch stretch_;
    std::int32_t pushed_out_ = 0;
};

}  // namespace breakstep::scoring
