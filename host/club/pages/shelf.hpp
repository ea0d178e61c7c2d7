// What reports read beside the term: the store's sessions with what their rhythm gave away, drills by their titles, and
// words for dates. Internal to this folder.
//
// Main thread. Fails as the store's reading functions do.
#pragma once

#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "core/score/exchange.hpp"
#include "report/drawing/rhythm_lane.hpp"
#include "settings/settings.hpp"
#include "store/kept.hpp"

namespace breakstep {

struct ShelvedSession {
    SessionSummary summary;
    std::int32_t day = 0;  ///< its evening
    std::optional<reading::HitCount> hits;
};

/// A session with a partner: who kicked, and what was read of both.
struct ShelvedBout {
    AthleteId partner{};  ///< 0: nobody's name stands there
    std::optional<scoring::Exchange> exchange;
};

class Shelf {
  public:
    [[nodiscard]] static Expected<Shelf> open(const Kept& store, const Settings& settings);

    /// In the order in which they began.
    [[nodiscard]] const std::vector<ShelvedSession>& sessions() const { return sessions_; }
    [[nodiscard]] std::vector<const ShelvedSession*> sessions_of(AthleteId athlete, std::int32_t first_day,
                                                                 std::int32_t last_day) const;
    [[nodiscard]] Expected<std::vector<RepResult>> reps(const ShelvedSession& session) const {
        return store_->reps(session.summary.id);
    }
    [[nodiscard]] Expected<SessionTotals> totals(const ShelvedSession& session) const;
    /// The set in which most windows were announced, from the session's journal; null without three entries in a set.
    [[nodiscard]] Expected<std::optional<RhythmLane>> rhythm(const ShelvedSession& session) const;
    /// From the session's journal.
    [[nodiscard]] Expected<ShelvedBout> with_partner(const ShelvedSession& session) const;
    /// Null where its file is gone.
    [[nodiscard]] const std::optional<Drill>& drill(const std::string& name) const;
    /// The drill's own title, or its name where its file is gone.
    [[nodiscard]] std::string title_of(const std::string& drill) const;

  private:
    Shelf(const Kept& store, const Settings& settings) : store_(&store), settings_(&settings) {}

    const Kept* store_;
    const Settings* settings_;
    std::vector<ShelvedSession> sessions_;
    mutable std::map<std::string, std::optional<Drill>> drills_;
};

/// "Tuesday 3 November 2026".
[[nodiscard]] std::string full_date(std::int32_t day);
/// "1 September to 3 November 2026".
[[nodiscard]] std::string span_of_days(std::int32_t first, std::int32_t last);
/// "18:40", local.
[[nodiscard]] std::string clock_time(std::int64_t unix_seconds);

}  // namespace breakstep
