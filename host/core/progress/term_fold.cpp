#include "core/progress/term_fold.hpp"

#include <algorithm>
#include <optional>

#include "core/error.hpp"
#include "core/progress/athlete_tally.hpp"
#include "core/progress/false_discovery.hpp"
#include "core/reading/over_a_term.hpp"

namespace breakstep::progress {
namespace {

/// What holds for the group alone: how many of those named are to be wrong.
void look_at_the_group(std::vector<AthleteTerm>& terms) {
    std::vector<double> p_values, wealths;
    for (const AthleteTerm& term : terms) {
        wealths.push_back(term.rhythm_wealth);
        if (term.claimed.claim.claim != Claim::too_few) p_values.push_back(term.claimed.claim.p_two_sided());
    }
    const auto adjusted = false_discovery_adjusted(p_values);
    std::size_t next = 0;
    for (AthleteTerm& term : terms)
        if (term.claimed.claim.claim != Claim::too_few) term.claimed.q = adjusted[next++];
    for (const std::size_t named : reading::named_by_e_bh(wealths)) terms[named].rhythm_told = true;
}

}  // namespace

struct TermFold::State {
    std::vector<std::optional<AthleteTally>> tallies;
    ClaimedMeasure claimed;
    bool end_of_term = false;
    AthleteTally* current = nullptr;

    AthleteTally& of(std::size_t athlete) {
        if (athlete >= tallies.size()) broken_invariant("a fact of an athlete out of range");
        auto& tally = tallies[athlete];
        return tally ? *tally : tally.emplace();
    }
};

TermFold::TermFold(std::size_t athletes, ClaimedMeasure claimed, bool end_of_term) : state_(std::make_unique<State>()) {
    state_->tallies.resize(athletes);
    state_->claimed = std::move(claimed);
    state_->end_of_term = end_of_term;
}
TermFold::~TermFold() = default;
TermFold::TermFold(TermFold&&) noexcept = default;
TermFold& TermFold::operator=(TermFold&&) noexcept = default;

void TermFold::begin(const SessionFact& session) {
    state_->current = &state_->of(session.athlete);
    state_->current->begin(session);
}

void TermFold::add(const RepFact& rep) {
    if (state_->current == nullptr) broken_invariant("a rep before any session");
    state_->current->add(rep);
}

void TermFold::add(const MeasureFact& measure) { state_->of(measure.athlete).add(measure); }

std::vector<AthleteTerm> TermFold::finish() {
    std::int32_t last_day = INT32_MIN;
    for (const auto& tally : state_->tallies)
        if (tally) last_day = std::max(last_day, tally->last_day());
    std::vector<AthleteTerm> terms;
    for (std::size_t i = 0; i < state_->tallies.size(); ++i)
        if (auto& tally = state_->tallies[i])
            terms.push_back(tally->finish(i, state_->claimed, state_->end_of_term, last_day));
    look_at_the_group(terms);
    return terms;
}

}  // namespace breakstep::progress
