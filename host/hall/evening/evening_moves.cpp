// What was made and is corrected: a rep made void or taken back, a set that was another athlete's.
#include <utility>

#include "hall/evening/evening_owner.hpp"
#include "hall/evening/moved_set.hpp"

namespace breakstep {

using namespace evening;

void EveningOwner::void_last(const VoidLast& wanted, HostTime now) {
    const Newest newest = newest_rep();
    if (newest.rep == nullptr) return;
    void_rep(newest.session, newest.rep->rep, wanted.back ? VoidReason::none : VoidReason::coach, now);
}

// Of a session that stands aside no result comes by itself.
void EveningOwner::void_rep(SessionId session, RepId rep, VoidReason reason, HostTime now) {
    core_.call(InputCall{VoidRep{session, rep, reason}, now}, now);
    if (core_.engine().running_session() == session) return;
    const Score* score = core_.engine().score_of(session);
    if (score == nullptr) return;
    for (const RepResult& each : score->reps())
        if (each.rep == rep) keep_rep(session, each, false);
}

// A set is moved once nothing more can come to it.
void EveningOwner::move_if_free(HostTime now) {
    if (!to_move_ || state_.rig == AtRig::running || state_.rig == AtRig::leaving) return;
    const Move wanted = *std::exchange(to_move_, std::nullopt);
    move(wanted, now);
}

void EveningOwner::move(const Move& wanted, HostTime now) {
    const auto known = sessions_.find(wanted.session);
    const auto stretch = last_stretch(set_records_);
    if (known == sessions_.end() || wanted.session != set_session_ || stretch.empty()) {
        if (on_notice) on_notice("that set can't be moved any more: it stays where it stands");
        return;
    }
    auto began = club_.session(wanted.to, known->second.drill.name);
    if (!began) {
        if (on_notice) on_notice(began.error().text());
        return;
    }
    const Side lead = began->athlete_lead;
    const std::string prior = began->prior;
    *began = known->second;
    began->session = club_.fresh_session();
    began->athlete = wanted.to;
    began->athlete_lead = lead;
    began->prior = prior;
    began->participants = participants_after(known->second, wanted.to, lead);
    const std::vector<JournalRecord> moved = moved_session(*began, stretch);
    const std::vector<RepId> reps = reps_in(stretch);
    sessions_[began->session] = *began;
    // Said first, so that a cut in its middle is seen.
    record(SetMoved{wanted.session, wanted.set, wanted.to, began->session, stretch.front().position,
                    stretch.back().position},
           now);
    journal_.append(began->session, moved);
    for (const RepId rep : reps) void_rep(wanted.session, rep, VoidReason::other_athlete, now);
    Score again;
    std::vector<ScoreResult> ignored;
    for (const JournalRecord& entry : moved) again.fold(entry, ignored);
    for (const RepResult& rep : again.reps()) {
        journal_.keep(began->session, rep);
        keep_rep(began->session, rep, false);
    }
    journal_.keep_totals(began->session, again.totals());
}

}  // namespace breakstep
