// Sessions begin, stand aside, go on, come back after a cut; and reps of theirs are made void.
#include <set>
#include <utility>

#include "core/reading/reading_method.hpp"
#include "hall/engine/engine_state.hpp"

namespace breakstep {

void Engine::State::start(const StartSession& wanted, const Now& now) {
    if (running) {
        out.refusals.emplace_back("a session runs already");
        return;
    }
    if (aside.contains(wanted.session.session)) {
        out.refusals.emplace_back("that session stands aside: it can be resumed");
        return;
    }
    session = wanted.session;
    session->rules = rules_of_today;
    session->reading_method = word(reading::ReadingMethod::two_signs);
    if (rig && rig_there) session->devices = {rig->board};
    conduct.emplace(*session, settings.devices);
    score.emplace();
    position = 0;
    // Events of the session before that are not on disk yet stay unacknowledged until this one's are: the rig keeps
    // them. An evening's sessions are all looked after to their end.
    if (!keeps_idle) unsafe.clear();
    sounds.clear();
    running = true;
    record(*session, now);
    if (settings.sound_delay)
        record(CalibrationUsed{OnsetSource::sound, settings.sound_delay->delay, settings.sound_delay->spread}, now);
    if (settings.screen_delay)
        record(CalibrationUsed{OnsetSource::screen, settings.screen_delay->delay, settings.screen_delay->spread}, now);
    tell_rig(now);
    out.scene_changed = true;
}

// What a session that begins or goes on has to know of the rig.
void Engine::State::tell_rig(const Now& now) {
    if (!rig || !rig_there) return;
    record(*rig, now);
    // A rig that can't cue has ended the session already.
    if (running && last_bound != unknown_uncertainty && now.rig) record(ClockBound{*now.rig, last_bound}, now);
}

void Engine::State::put_aside() {
    const SessionId which = session->session;
    out.session_aside = which;
    running = false;
    aside.insert_or_assign(which, Aside{std::move(*session), std::move(*conduct), std::move(*score), position});
    session.reset();
    conduct.reset();
    score.reset();
}

void Engine::State::resume(const ResumeSession& wanted, const Now& now) {
    const auto found = aside.find(wanted.session);
    if (running || found == aside.end()) {
        out.refusals.emplace_back(running ? "a session runs already" : "no such session stands aside");
        return;
    }
    session = std::move(found->second.session);
    conduct.emplace(std::move(found->second.conduct));
    score.emplace(std::move(found->second.score));
    position = found->second.position;
    aside.erase(found);
    sounds.clear();
    running = true;
    record(SessionResumed{}, now);
    tell_rig(now);
    out.scene_changed = true;
}

// Conduct has nothing of a journal but what SessionSuspended says, and which reps count.
void Engine::State::restore(const RestoreSession& wanted) {
    std::optional<SessionBegan> began;
    std::optional<SessionSuspended> at;
    Score scored;
    std::vector<ScoreResult> ignored;
    std::set<std::int32_t> given;
    for (const JournalRecord& record : wanted.records) {
        scored.fold(record, ignored);
        if (const auto* first = std::get_if<SessionBegan>(&record.event)) began = *first;
        if (const auto* suspended = std::get_if<SessionSuspended>(&record.event)) at = *suspended;
    }
    if (!began || !at) {
        out.refusals.emplace_back("a session that never stood aside can't be resumed");
        return;
    }
    for (const RepResult& rep : scored.reps())
        if (rep.set == at->set && !rep.catch_trial && rep.verdict != Verdict::void_rep) given.insert(rep.number);
    Conduct restored(*began, settings.devices);
    restored.restore(*at, {given.begin(), given.end()}, scored.reps());
    const SessionId which = began->session;
    const auto next = static_cast<std::int64_t>(wanted.records.size());
    aside.insert_or_assign(which, Aside{std::move(*began), std::move(restored), std::move(scored), next});
}

void Engine::State::void_rep(const VoidRep& wanted, const Now& now) {
    const RepVoided voided{wanted.rep, wanted.reason};
    if (running && session->session == wanted.session) {
        record(voided, now);
        return;
    }
    // One that stands aside, or has ended and was the last.
    const auto found = aside.find(wanted.session);
    const bool ended = session && session->session == wanted.session;
    if (found == aside.end() && !ended) {
        out.refusals.emplace_back("that session is over: its reps stay as they are");
        return;
    }
    JournalRecord entry{ended ? position++ : found->second.position++, now.host, voided};
    std::vector<ScoreResult> changed;
    (ended ? *score : found->second.score).fold(entry, changed);
    for (ScoreResult& result : changed) out.aside_results.push_back({wanted.session, std::move(result)});
    out.aside_records.push_back({wanted.session, std::move(entry)});
}

}  // namespace breakstep
