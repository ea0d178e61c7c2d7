// A partner's leg as its gates tell it, put in order of time and read no further than everything has arrived.
//
// Edges are taken as they come; read_next() hands the reader the next one that nothing earlier can follow any more.
// Owned by Conduct, on its thread; bounded: of edges that wait, the oldest thousand. Edges of another boot are dropped
// with the boot. Can't fail.
#pragma once

#include <optional>
#include <span>
#include <vector>

#include "core/journal/events.hpp"
#include "core/leg/leg_reader.hpp"

namespace breakstep {

class PartnerLeg {
  public:
    /// The rig is there: its gates, their bounds and, of a new boot, how they stand.
    void connect(const RigConnected& rig, bool new_boot);
    /// Whether the rig has both gates that a leg passes.
    [[nodiscard]] bool fitted() const { return low_ && hip_; }

    void edge(const GateEdge& edge);
    /// The partner's hands, as the coach saw them.
    void hands(TargetTime at, Uncertainty bound) { insert({at, 0, GateRole::hands, true, bound, OnsetSource::tap}); }

    /// When the next edge that waits was, if it lies before `through`.
    [[nodiscard]] std::optional<TargetTime> next_before(TargetTime through) const;
    /// Tells the reader the next edge.
    void read_next();
    /// Everything before it has been told.
    void passed(TargetTime through) { reader_.passed(through); }

    /// A new reading, with the gates as they stand.
    void begin(std::optional<AttackKind> asked);
    [[nodiscard]] leg::LegReader& reader() { return reader_; }
    [[nodiscard]] const leg::LegReader& reader() const { return reader_; }
    /// Of the edges that were read.
    [[nodiscard]] std::optional<TargetTime> last_edge() const { return last_edge_; }
    /// Phases that were not fetched yet; the source of each is the gate's, but for hands by a tap.
    [[nodiscard]] std::span<const leg::LegPhaseSeen> fresh();
    [[nodiscard]] OnsetSource source_of(const leg::LegPhaseSeen& seen) const {
        return seen.phase == Phase::hands ? hands_source_ : OnsetSource::gate;
    }

  private:
    struct Edge {
        TargetTime at;
        std::uint16_t sequence;
        GateRole gate;
        bool broken;
        Uncertainty bound;
        OnsetSource source;
    };
    void insert(const Edge& edge);

    std::optional<Uncertainty> low_, hip_, hands_;  ///< bounds of the gates that are there
    bool low_broken_ = false, hip_broken_ = false;
    std::vector<Edge> waiting_;  // in order of time
    leg::LegReader reader_;
    std::size_t fetched_ = 0;
    OnsetSource hands_source_ = OnsetSource::gate;
    std::optional<TargetTime> last_edge_;
};

}  // namespace breakstep
