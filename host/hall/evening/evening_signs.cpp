// What is read of whoever is at the rig: the two signs as score has them now, and in a free exchange who leads whom.
#include "hall/evening/evening_owner.hpp"
#include "report/drawing/exchange_words.hpp"

namespace breakstep {

using namespace evening;

void EveningOwner::add_signs(EveningView& view) const {
    const bool at_it = state_.rig == AtRig::running || state_.rig == AtRig::leaving;
    const SessionId session = at_it ? state_.session : state_.last_set ? state_.last_set->session : SessionId{};
    const Score* score = core_.engine().score_of(session);
    if (session == SessionId{} || score == nullptr) return;
    const SessionTotals totals = score->totals();
    SignsSeen signs;
    signs.athlete = shown(athlete_of(session));
    signs.session = session;
    signs.timed = totals.sign;
    signs.timed_reason = totals.sign_reason;
    signs.read = totals.read_sign;
    signs.read_reason = totals.read_reason;
    signs.two_signs = totals.two_signs;
    signs.windows = totals.windows;
    signs.caught = totals.caught;
    signs.luck = totals.caught_by_chance;
    if (score->exchange() != nullptr) {
        std::string partner = "the partner";
        if (const auto known = sessions_.find(session); known != sessions_.end())
            for (const Participant& each : known->second.participants)
                if (each.role == ParticipantRole::partner && each.athlete != AthleteId{}) partner = shown(each.athlete);
        const auto edge = scoring::edge_counts(score->exchange(), score->reps());
        const ExchangeSaid said =
            edge ? edge_words(*edge) : who_leads_words(*score->exchange(), signs.athlete, partner);
        signs.leads = said.claim;
        signs.reason = said.evidence;
    }
    view.signs = std::move(signs);
}

}  // namespace breakstep
