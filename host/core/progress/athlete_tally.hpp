// One athlete's facts as they come in, counted evening by evening; and what they say at the end of the term. The inner
// part of TermFold, one for each athlete.
//
// Same owner and thread as TermFold. Pure; can't fail.
#pragma once

#include <array>
#include <cstdint>
#include <map>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "core/progress/athlete_term.hpp"
#include "core/progress/term_fold.hpp"
#include "core/reading/over_a_term.hpp"

namespace breakstep::progress {

class AthleteTally {
  public:
    void begin(const SessionFact& session);
    void add(const RepFact& rep);
    void add(const MeasureFact& measure) { measures_[measure.measure].insert_or_assign(measure.day, measure.value); }

    /// `last_day` is the term's, of all athletes: recent means the 28 days that end with it.
    [[nodiscard]] AthleteTerm finish(std::size_t athlete, const ClaimedMeasure& claimed, bool end_of_term,
                                     std::int32_t last_day);
    [[nodiscard]] std::int32_t last_day() const;

  private:
    // A cell on one evening.
    struct CellEvening {
        Share on_time;
        std::uint64_t clashes = 0;
        std::vector<double> latencies_ms, errors_ms;
    };
    using CellEvenings = std::map<std::int32_t, CellEvening>;
    struct Evening {
        Share on_time;
        std::optional<reading::HitCount> hits;
        std::map<Situation, VerdictCounts> situations;
        std::set<std::string> drills;
    };

    void count_scored(const RepFact& rep, bool hit);
    void count_answers(const RepFact& rep, bool hit);
    void end_set();
    [[nodiscard]] static CellFigures figures(CellEvenings::const_iterator from, CellEvenings::const_iterator to);
    [[nodiscard]] std::vector<CellTerm> cells() const;
    [[nodiscard]] std::optional<Cell> claimed_cell(const ClaimedMeasure& claimed) const;
    [[nodiscard]] Followed followed_cell(const Cell& cell, bool end_of_term) const;
    void add_rhythm(AthleteTerm& term) const;
    void add_days_off(AthleteTerm& term) const;

    std::map<Cell, CellEvenings> cells_;
    std::map<std::int32_t, Evening> evenings_;
    std::map<std::string, std::map<std::int32_t, double>> measures_;
    AthleteTerm so_far_;
    reading::TermTell tell_;
    std::optional<Level> training_level_, last_level_;
    GainTally gains_;

    SessionFact session_;
    Evening* evening_ = nullptr;  // of the session handed in last
    std::uint64_t scored_this_evening_ = 0;
    std::int32_t set_ = -1;
    std::vector<bool> set_hits_;  // scored reps of the set
    int retreats_in_a_row_ = 0;
};

}  // namespace breakstep::progress
