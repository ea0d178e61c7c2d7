// The fold over a term: sessions, reps and imported results in, one AthleteTerm per athlete out. One pass in order of
// time; memory grows with the athletes' cells and evenings, and by one number per contact.
//
// One owner, any one thread. Pure: the same facts in the same order give the same figures to the bit. An index out of
// range is a broken invariant of the caller.
#pragma once

#include <map>
#include <memory>
#include <string>
#include <vector>

#include "core/progress/athlete_term.hpp"

namespace breakstep::progress {

/// The one measure that is claimed of every athlete, fixed before the term is looked at.
struct ClaimedMeasure {
    /// "on-time rate" (in tests), or an imported measure's name.
    std::string measure{on_time_rate};
    /// Of an on-time rate, each null one by the athlete's own first test evening: the cell with most scored reps on it,
    /// ties to the first in order. What came later has no say, so that the choice can't follow the outcome.
    std::optional<Moment> moment;
    std::optional<Counter> counter;
    std::optional<Stance> stance;
    /// Which way is better, of imported measures; one that is missing is never claimed. An athlete without any test of
    /// our own is claimed by the one imported measure named here, if there is exactly one.
    std::map<std::string, Better> better;
    bool operator==(const ClaimedMeasure&) const = default;
};

class TermFold {
  public:
    TermFold(std::size_t athletes, ClaimedMeasure claimed, bool end_of_term);
    ~TermFold();
    TermFold(TermFold&&) noexcept;
    TermFold& operator=(TermFold&&) noexcept;

    void begin(const SessionFact& session);
    void add(const RepFact& rep);
    void add(const MeasureFact& measure);

    /// Of every athlete with a session or a result, in order of their index. Ends the fold.
    [[nodiscard]] std::vector<AthleteTerm> finish();

  private:
    struct State;
    std::unique_ptr<State> state_;
};

}  // namespace breakstep::progress
