#include "hall/evening/evening_owner.hpp"

#include <algorithm>
#include <utility>

#include "core/journal/visiting.hpp"
#include "core/trade/rules.hpp"

namespace breakstep {

using namespace evening;

namespace {

// Steps of one moment: far more than an evening can have, so that a fault does not hang it.
constexpr int steps_max = 256;

}  // namespace

EveningOwner::EveningOwner(EveningClub club, DriverCore& core, Journal& journal)
    : club_(std::move(club)), core_(core), journal_(journal) {
    core_.on_records = [this](SessionId session, std::span<const JournalRecord> records) {
        take_records(session, records);
    };
    core_.on_rig_answer = [this, before = core_.on_rig_answer](const LinkEvent& answer) {
        take_answer(answer);
        if (before) before(answer);
    };
    core_.on_aside = [this](SessionId session) { waiting_.push_back({StoodAside{session}}); };
    core_.on_result = [this, before = core_.on_result](const ScoreResult& result) {
        if (const auto* rep = std::get_if<RepResult>(&result))
            // The last of a session comes with its end.
            keep_rep(core_.engine().running_session().value_or(set_session_), *rep, false);
        if (const auto* word = std::get_if<FirstWord>(&result))
            keep_rep(core_.engine().running_session().value_or(set_session_), word->rep, true);
        if (before) before(result);
    };
    before_partner_cue_ = core_.on_partner_cue;
    core_.on_partner_cue = [this](const PartnerCue& cue) {
        partner_cue_ = cue;
        asked_ = true;
        if (before_partner_cue_) before_partner_cue_(cue);
    };
    view_.store(std::make_shared<const EveningView>());
}

EveningOwner::~EveningOwner() {
    core_.on_records = {};
    core_.on_aside = {};
    core_.on_rig_answer = {};
    core_.on_result = {};
    core_.on_partner_cue = before_partner_cue_;
}

// ---- the journal ----------------------------------------------------------------------------------------------------

void EveningOwner::record(EveningEvent event, HostTime now) {
    EveningRecord entry{static_cast<std::int64_t>(records_.size()), time(now), std::move(event)};
    fold(state_, entry.event, entry.at);
    journal_.append_evening(state_.began.evening, {&entry, 1});
    records_.push_back(entry);
    asked_ = true;
    if (on_record) on_record(records_.back());
}

void EveningOwner::begin(const EveningBegan& began, HostTime now) {
    zero_ = now;
    record(began, now);
    core_.call(InputCall{KeepIdle{}, now}, now);
    rig_told_ = core_.engine().link().connected();
    record(RigSeen{*rig_told_}, now);
}

void EveningOwner::go_on(CutEvening cut, EveningTime at, std::int64_t unix_seconds, HostTime now) {
    EveningTime latest{};
    for (const EveningRecord& entry : cut.records) {
        fold(state_, entry.event, entry.at);
        latest = std::max(latest, entry.at);
    }
    records_ = std::move(cut.records);
    zero_ = now - std::max(at, latest);
    core_.call(InputCall{KeepIdle{}, now}, now);
    record(WentOn{unix_seconds}, now);
    for (std::vector<JournalRecord>& journal : cut.sessions) {
        const SessionBegan& began = std::get<SessionBegan>(journal.front().event);
        sessions_[began.session] = began;
        if (state_.last_set && state_.last_set->session == began.session) {
            set_session_ = began.session;
            set_records_ = journal;
        }
        core_.call(InputCall{RestoreSession{std::move(journal)}, now}, now);
    }
    rig_told_ = core_.engine().link().connected();
    record(RigSeen{*rig_told_}, now);
}

void EveningOwner::came(const AthleteCame& athlete, HostTime now) {
    record(athlete, now);
    const Block* block = state_.current();
    if (block == nullptr || block->kind != BlockKind::rounds) return;
    // Late, in the midst of the rounds: a dose as the others have.
    if (const Person* one = state_.find(athlete.athlete); one != nullptr && one->dose.sets == 0)
        if (const auto dose = club_.dose(*one, *block)) record(*dose, now);
}

void EveningOwner::noticed(const std::string& words, HostTime now) {
    rig_now_.notice(words, now);
    asked_ = true;
}

void EveningOwner::left(AthleteId athlete, HostTime now) { record(AthleteLeft{athlete}, now); }

// ---- what happened --------------------------------------------------------------------------------------------------

void EveningOwner::take_records(SessionId session, std::span<const JournalRecord> records) {
    if (core_.engine().running_session() != session && session != state_.session && session != ending_) return;
    for (const JournalRecord& entry : records) {
        rig_now_.fold(entry.event, entry.recorded);
        if (session == set_session_) set_records_.push_back(entry);
        follow_pads(entry.event);
        follow_cue(entry.event);
        if (std::holds_alternative<StartStruck>(entry.event)) {
            count_began_ = entry.recorded + after_start_strike;
            waiting_.push_back({SetBegan{session, std::get<StartStruck>(entry.event).set}});
        }
        if (const auto* ended = std::get_if<SetEnded>(&entry.event); ended != nullptr && !ended->cancelled)
            waiting_.push_back(
                {SetDone{session, ended->set, count_began_ ? entry.recorded - *count_began_ : Duration{}}});
        if (const auto* over = std::get_if<SessionEnded>(&entry.event))
            waiting_.push_back({SessionOver{session, over->how}});
        if (std::holds_alternative<RigLost>(entry.event)) waiting_.push_back({RigSeen{false}});
        if (std::holds_alternative<RigConnected>(entry.event)) waiting_.push_back({RigSeen{true}});
    }
}

void EveningOwner::take_answer(const LinkEvent& answer) {
    std::visit(
        Overloaded{[&](const OneOf<PadHit, GateEdge, SyncEdge, LampsSet, LampsRefused, EventSkipped> auto& told) {
                       KeptOutside kept{breakstep::kind_of(JournalEvent(told)), {}};
                       breakstep::encode(JournalEvent(told), kept.bytes);
                       rig_now_.fold(told, now_);
                       waiting_.push_back({std::move(kept), true});
                   },
                   [&](const RigConnected& rig) {
                       rig_now_.fold(rig, now_);
                       waiting_.push_back({RigSeen{true}});
                   },
                   [&](const RigLost& lost) {
                       rig_now_.fold(lost, now_);
                       waiting_.push_back({RigSeen{false}});
                   },
                   [](const OneOf<EventsLost, ClockBound, RigRefused, PadLevel, RigCounters, SettingValue> auto&) {}},
        answer);
}

void EveningOwner::tell_waiting(HostTime now) {
    while (!waiting_.empty()) {
        Waiting next = std::move(waiting_.front());
        waiting_.pop_front();
        if (const auto* seen = std::get_if<RigSeen>(&next.event)) {
            if (rig_told_ == seen->here) continue;
            rig_told_ = seen->here;
        }
        if (next.counts_outside) to_settle_.emplace_back(static_cast<std::int64_t>(records_.size()), outside_++);
        const bool frees =
            std::holds_alternative<StoodAside>(next.event) || std::holds_alternative<SessionOver>(next.event);
        // At its end, or where it is cut.
        const bool ends = std::holds_alternative<SetDone>(next.event) || frees;
        if (ends && state_.made_by && state_.rig == AtRig::running)
            to_move_ = Move{state_.session, state_.set, state_.at_rig, *state_.made_by};
        if (frees) aside_asked_ = false;
        record(std::move(next.event), now);
        if (frees) move_if_free(now);
    }
}

void EveningOwner::follow_commits(HostTime now) {
    if (to_settle_.empty()) return;
    const std::int64_t committed = journal_.committed(static_cast<SessionId>(state_.began.evening));
    std::optional<std::int64_t> through;
    while (!to_settle_.empty() && to_settle_.front().first <= committed) {
        through = to_settle_.front().second;
        to_settle_.pop_front();
    }
    if (through) core_.call(CommittedCall{SessionId{}, *through, now}, now);
}

bool EveningOwner::is_counting() const {
    const Conduct* conduct = core_.engine().conduct();
    return core_.engine().running_session() == state_.session && conduct != nullptr &&
           conduct->scene().kind == SceneKind::counting;
}

// A count that is called off leaves the athlete called.
void EveningOwner::follow_count(HostTime now) {
    const Conduct* conduct = core_.engine().conduct();
    if (state_.rig == AtRig::running && core_.engine().running_session() == state_.session && conduct != nullptr &&
        conduct->scene().kind == SceneKind::awaiting_start)
        record(CountCancelled{state_.session}, now);
    if (!std::exchange(passed_on_, false) || (state_.rig != AtRig::called && !is_counting())) return;
    pass_on_.clear();
    ask({Ask::skip, {}, ""}, Hand::pads, now);
}

void EveningOwner::follow_pads(const JournalEvent& event) {
    if (state_.rig != AtRig::called && !is_counting()) return;
    if (const auto* hit = std::get_if<PadHit>(&event)) pass_on_.take(*hit);
    if (const auto* edge = std::get_if<GateEdge>(&event)) passed_on_ = pass_on_.take(*edge) || passed_on_;
}

// ---- what is to be done ---------------------------------------------------------------------------------------------

void EveningOwner::poll(HostTime now) {
    now_ = now;
    tell_waiting(now);
    follow_count(now);
    follow_commits(now);
    if (!asked_ && now < next_look_) return;
    asked_ = false;
    for (int step = 0; step < steps_max && !state_.over; ++step) {
        if (!fresh_) fresh_ = club_.fresh_session();
        std::vector<Command> commands = next_step(state_, time(now), *fresh_);
        if (commands.empty() || (aside_asked_ && std::holds_alternative<StandAside>(commands.front()))) break;
        for (Command& command : commands) run(command, now);
        tell_waiting(now);
    }
    publish(now);
    next_look_ = now + 1s;
    if (const auto due = next_due(); due && *due > now) next_look_ = std::min(next_look_, *due);
}

std::optional<HostTime> EveningOwner::next_due() const {
    const auto due = evening::next_due(state_);
    return due ? std::optional(zero_ + *due) : std::nullopt;
}

void EveningOwner::run(Command& command, HostTime now) {
    std::visit(Overloaded{[&](Record& wanted) { record(std::move(wanted.event), now); },
                          [&](const Start& wanted) { start(wanted, now); },
                          [&](const Resume& wanted) {
                              set_records_.clear();
                              set_session_ = wanted.session;
                              pass_on_.clear();
                              const auto known = sessions_.find(wanted.session);
                              core_.resume(
                                  wanted.session,
                                  known == sessions_.end() ? SceneNames{} : club_.names(wanted.athlete, known->second),
                                  now);
                              // One that the engine does not know can't go on: the set is owed still.
                              if (core_.engine().running_session() != wanted.session)
                                  waiting_.push_back({SessionOver{wanted.session, SessionEnd::cancelled}});
                          },
                          [&](const StandAside&) {
                              aside_asked_ = true;
                              core_.call(InputCall{SuspendSession{}, now}, now);
                          },
                          [&](const End& wanted) { end(wanted.session, now); },
                          [&](const Move& wanted) {
                              to_move_ = wanted;
                              move_if_free(now);
                          },
                          [&](const VoidLast& wanted) { void_last(wanted, now); },
                          [&](const Pause& wanted) {
                              const CoachAct act = wanted.on ? CoachAct::pause : CoachAct::go_on;
                              core_.call(InputCall{Coach{{act, 0}}, now}, now);
                          },
                          [&](const GiveDoses& wanted) { give_doses(wanted.block, now); },
                          [&](const GiveDose& wanted) { give_dose(wanted.athlete, now); },
                          [&](const TapAttack&) {
                              core_.call(InputCall{Coach{{CoachAct::tap_attack, -1}}, now}, now);
                          },
                          [&](const AskPartner& wanted) { ask_partner(wanted.list, now); }, [](const Over&) {}},
               command);
}

void EveningOwner::start(const Start& wanted, HostTime now) {
    fresh_.reset();
    Expected<SessionBegan> began = club_.session(wanted.athlete, wanted.dose.drill);
    if (!began) {
        if (on_notice) on_notice(began.error().text());
        waiting_.push_back({SessionOver{wanted.session, SessionEnd::cancelled}});
        waiting_.push_back({AthleteLeft{wanted.athlete}});
        return;
    }
    began->session = wanted.session;
    began->evening = state_.began.evening;
    began->drill.sets = wanted.sets_left;
    began->drill = evening::in_sets_of(std::move(began->drill), wanted.dose.reps);
    began->feedback = wanted.silent_first    ? Feedback::silent_first
                      : wanted.words_at_once ? Feedback::at_once
                                             : Feedback::at_close;
    began->opens_video = sessions_.empty();  // one flash opens the evening
    if (began->drill.partner.source == AttackSource::partner) began->participants = pair_of(*began);
    sessions_[wanted.session] = *began;
    set_records_.clear();
    set_session_ = wanted.session;
    pass_on_.clear();
    core_.start(*began, club_.names(wanted.athlete, *began), now);
}

void EveningOwner::end(SessionId session, HostTime now) {
    const auto known = sessions_.find(session);
    ending_ = session;  // it runs no more by the time its last record is told
    core_.resume(session, known == sessions_.end() ? SceneNames{} : club_.names(known->second.athlete, known->second),
                 now);
    if (core_.engine().running_session() == session)
        core_.call(InputCall{Coach{{CoachAct::stop, 0}}, now}, now);
    else
        waiting_.push_back({SessionOver{session, SessionEnd::cancelled}});
    ending_.reset();
}

void EveningOwner::give_doses(std::int32_t block, HostTime now) {
    const Block& plan = state_.began.blocks[static_cast<std::size_t>(block)];
    std::vector<DoseGiven> doses;
    for (const Person& each : state_.people)
        if (each.here)
            if (auto dose = club_.dose(each, plan)) doses.push_back(std::move(*dose));
    for (DoseGiven& dose : doses) record(std::move(dose), now);
}

void EveningOwner::give_dose(AthleteId athlete, HostTime now) {
    const Person* one = state_.find(athlete);
    const Block* block = state_.current();
    if (one == nullptr || block == nullptr || block->kind != BlockKind::rounds) return;
    if (auto dose = club_.dose(*one, *block)) record(std::move(*dose), now);
}

// ---- the coach ------------------------------------------------------------------------------------------------------

Answer EveningOwner::ask(const Request& request, Hand hand, HostTime now) {
    tell_waiting(now);
    // Whoever is passed over before the first rep has not begun.
    if (request.what == Ask::skip && state_.rig == AtRig::running && is_counting())
        record(CountCancelled{state_.session}, now);
    const RepResult* rep = last_rep();
    const std::optional<bool> last_void =
        rep == nullptr ? std::nullopt : std::optional(rep->void_reason == VoidReason::coach);
    Possible possible;
    possible.drill = !club_.title || !club_.title(request.text).empty();
    const Conduct* conduct = core_.engine().conduct();
    possible.tap =
        core_.engine().in_session() && conduct != nullptr && !conduct->refusal(CoachInput{CoachAct::tap_attack, -1});
    if (request.what == Ask::partner_next) possible.partner = why_no_list(request.text);
    Reply reply = evening::ask(state_, request, hand, time(now), last_void, possible);
    said_ = breakstep::words_of(reply.answer);
    for (Command& command : reply.commands) run(command, now);
    poll(now);
    return reply.answer;
}

bool EveningOwner::leave(HostTime now) {
    if (!core_.engine().in_session()) return true;
    if (!std::exchange(leaving_, true)) core_.call(InputCall{SuspendSession{}, now}, now);
    tell_waiting(now);
    return !core_.engine().in_session();
}

}  // namespace breakstep
