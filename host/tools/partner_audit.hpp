// What the reps of a partner's drill say, held against what the simulated partner's leg truly did. Pure; any thread.
#pragma once

#include <cstdint>
#include <optional>
#include <vector>

#include "core/journal/events.hpp"
#include "core/score/borders.hpp"
#include "core/score/score.hpp"
#include "devices/simulated/partner_model.hpp"
#include "devices/simulated/rig_settings.hpp"

namespace breakstep {

/// A rep with what the leg truly did in it, twice if it went twice; without one nothing kicked, or nothing that a leg
/// does.
struct AuditedRep {
    RepResult rep;
    std::optional<LegTruth> truth{};
    std::optional<Duration> contact;  ///< true, from the true toe-off
};

struct PartnerFigures {
    std::uint64_t reps = 0, kicked = 0, voids = 0, obeyed = 0, asked = 0;
    std::uint64_t borders = 0, borders_inside = 0;
    std::uint64_t borders_unstated = 0;  ///< by a tap: how late, nobody knows
    double worst_border_us = 0;
    std::uint64_t contacts = 0;  ///< further from a border than its uncertainty
    std::uint64_t contacts_near = 0, right_phase = 0;
    std::uint64_t kinds_right = 0, kinds = 0;
    std::uint64_t second_lifts = 0, second_lifts_as_drop = 0;  ///< true ones; those with a drop told in them
    std::uint64_t bounces = 0, bounces_as_lift = 0;
};

class PartnerAudit {
  public:
    /// Times of the rig, as `rig_truths` have them, to true time.
    PartnerAudit(const std::vector<RigTruth>& rig_truths, const PartnerModel& partner);

    /// The reps of one session, with its records.
    [[nodiscard]] std::vector<AuditedRep> session(const std::vector<JournalRecord>& records,
                                                  const std::vector<RepResult>& reps);
    void add_to(PartnerFigures& figures, const std::vector<AuditedRep>& reps) const;

  private:
    [[nodiscard]] LegTruth whole_truth(const LegTruth& first, const RepResult& rep) const;
    [[nodiscard]] std::optional<HostTime> true_time(TargetTime at, std::uint16_t sequence) const;

    std::vector<RigTruth> rig_;  // in order of time
    const PartnerModel& partner_;
    std::uint64_t bounces_as_lift_ = 0;
};

}  // namespace breakstep
