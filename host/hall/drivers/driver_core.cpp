#include "hall/drivers/driver_core.hpp"

#include <iterator>
#include <utility>

namespace breakstep {
namespace {

// Long enough to be read between two reps; ours.
constexpr Duration notice_stands = 15s;

}  // namespace

DriverCore::DriverCore(const EngineSettings& settings, Journal& journal, CueOutput& cues, CaptureWriter* capture,
                       std::function<void(const OutFrame&)> write)
    : engine_(settings), journal_(journal), cues_(cues), capture_(capture), write_(std::move(write)) {}

void DriverCore::call(const EngineCall& call, HostTime now) {
    if (!refused_for_journal(call)) make(call, now);
}

// No rep begins while what it brings could not be kept. A coach who pauses meanwhile means it: then the drill goes on
// only when told.
bool DriverCore::refused_for_journal(const EngineCall& call) {
    const auto* input = std::get_if<InputCall>(&call);
    const auto* coach = input != nullptr ? std::get_if<Coach>(&input->input) : nullptr;
    if (!journal_in_trouble_ || coach == nullptr) return false;
    if (coach->input.act == CoachAct::pause) paused_for_journal_ = false;
    if (coach->input.act != CoachAct::go_on) return false;
    paused_for_journal_ = true;
    if (on_refusal) on_refusal("the session can't be written just now: the drill goes on by itself once it can");
    return true;
}

void DriverCore::pause_for_journal(HostTime now) {
    if (engine_.conduct() == nullptr || engine_.conduct()->scene().paused) return;
    paused_for_journal_ = true;
    make(InputCall{Coach{{CoachAct::pause, 0}}, now}, now);
}

void DriverCore::make(const EngineCall& call, HostTime now) {
    if (capture_ != nullptr) capture_->write(call);
    apply(engine_, call);
    deliver(now);
}

void DriverCore::sent(FrameId frame, HostTime at) {
    const EngineCall call = SentCall{frame, at};
    if (capture_ != nullptr) capture_->write(call);
    apply(engine_, call);
}

void DriverCore::start(const SessionBegan& session, SceneNames names, HostTime now) {
    begin_watch(session.session, std::move(names));
    committed_[session.session] = -1;
    call(InputCall{StartSession{session}, now}, now);
    if (journal_in_trouble_) pause_for_journal(now);
}

void DriverCore::begin_watch(SessionId session, SceneNames names) {
    names_ = std::move(names);
    session_ = session;
    session_end_.reset();
    health_ = {};
    line_before_ = engine_.link().counters();
    noticed_.clear();
    paused_for_journal_ = false;
}

void DriverCore::resume(SessionId session, SceneNames names, HostTime now) {
    begin_watch(session, std::move(names));
    call(InputCall{ResumeSession{session}, now}, now);
    if (journal_in_trouble_) pause_for_journal(now);
}

void DriverCore::deliver(HostTime now) {
    engine_.drain(out_);
    frames_.insert(frames_.end(), out_.frames.begin(), out_.frames.end());
    if (out_.session && !out_.records.empty()) {
        journal_.append(*out_.session, out_.records);
        waiting_[*out_.session] = out_.records.back().position;
        if (on_records) on_records(*out_.session, out_.records);
    }
    for (const AsideRecord& aside : out_.aside_records) {
        journal_.append(aside.session, {&aside.record, 1});
        waiting_[aside.session] = aside.record.position;
        if (on_records) on_records(aside.session, {&aside.record, 1});
    }
    for (const AsideResult& aside : out_.aside_results)
        if (const auto* rep = std::get_if<RepResult>(&aside.result)) {
            journal_.keep(aside.session, *rep);
            // It has ended: its totals stand already.
            if (session_end_ && aside.session == session_)
                journal_.keep_totals(aside.session, engine_.score_of(aside.session)->totals());
        }
    if (out_.session_aside && on_aside) on_aside(*out_.session_aside);
    watch_health(now);
    for (const ScoreResult& result : out_.results) {
        if (const auto* rep = std::get_if<RepResult>(&result)) journal_.keep(*out_.session, *rep);
        if (on_result) on_result(result);
    }
    for (const SoundCommand& sound : out_.sounds) cues_.play(sound);
    for (const LinkEvent& answer : out_.rig_answers)
        if (on_rig_answer) on_rig_answer(answer);
    for (const PartnerCue& cue : out_.partner_cues)
        if (on_partner_cue) on_partner_cue(cue);
    for (const std::string& refusal : out_.refusals)
        if (on_refusal) on_refusal(refusal);
    for (const TargetTime began : out_.test_sounds)
        if (on_test_sound) on_test_sound(began);
    for (const TargetTime flash : out_.flashes)
        if (on_flash) on_flash(flash);
    if (out_.scene_changed) scene_waits_ = true;
    if (out_.session_done) {
        session_end_ = out_.session_done;
        journal_.keep_totals(*session_, engine_.score()->totals());
    }
    out_.clear();
    // The port may answer at once (a fast run), so what is left to write is taken out first.
    std::vector<OutFrame> frames = std::exchange(frames_, {});
    for (const OutFrame& frame : frames) write_(frame);
    frames.clear();
    if (frames_.empty()) frames_ = std::move(frames);
    if (scene_waits_) show_scene(now);
}

void DriverCore::watch_health(HostTime now) {
    notices_.clear();
    for (const JournalRecord& record : out_.records) health_.fold(record.event, notices_);
    for (const ScoreResult& result : out_.results)
        if (const auto* rep = std::get_if<RepResult>(&result)) health_.fold(*rep, notices_);
    for (const LinkEvent& told : out_.rig_answers)
        std::visit(
            [this](const auto& known) {
                // Whether its time is sure matters to a set that waits for it.
                constexpr bool is_bound = std::is_same_v<std::remove_cvref_t<decltype(known)>, ClockBound>;
                if constexpr (!is_bound && std::is_convertible_v<decltype(known), JournalEvent>)
                    health_.fold(JournalEvent(known), notices_);
            },
            told);
    health_.fold(engine_.link().counters(), notices_);
    if (const auto rig = engine_.link().complete_until(); rig && session_ && !session_end_)
        health_.time_is(*rig, notices_);
    for (const HealthNotice& notice : notices_) {
        noticed_.push_back(notice);
        noticed_at_ = now;
        scene_waits_ = true;
        if (on_health) on_health(notice);
    }
}

void DriverCore::show_scene(HostTime now) {
    scene_waits_ = false;
    if (engine_.conduct() == nullptr) return;
    shown_as_saved_ = all_committed();
    const Scene& scene = engine_.conduct()->scene();
    StageView view = stage_view(scene, names_, *engine_.score(), engine_.link(), now, shown_as_saved_,
                                &engine_.conduct()->session());
    const bool resting = scene.kind == SceneKind::resting || scene.kind == SceneKind::done;
    if (!noticed_.empty() && (resting || now - noticed_at_ < notice_stands))
        view.notice = noticed_.back().what + ": " + noticed_.back().to_do;
    if (on_view) on_view(view);
    cues_.show(view);
}

void DriverCore::follow_journal(HostTime now) {
    if (!session_) return;
    for (auto each = waiting_.begin(); each != waiting_.end();) {
        const SessionId session = each->first;
        std::int64_t& known = committed_[session];
        if (const std::int64_t committed = journal_.committed(session); committed > known) {
            known = committed;
            call(CommittedCall{session, committed, now}, now);  // may append to it
        }
        each = known >= each->second ? waiting_.erase(each) : std::next(each);
    }
    const std::optional<Error> trouble = journal_.failure();
    if (trouble.has_value() != journal_in_trouble_) {
        journal_in_trouble_ = trouble.has_value();
        if (on_journal_trouble) on_journal_trouble(trouble);
        if (trouble)
            pause_for_journal(now);
        else if (std::exchange(paused_for_journal_, false))
            make(InputCall{Coach{{CoachAct::go_on, 0}}, now}, now);
    }
    const bool saved = all_committed();
    if (saved != shown_as_saved_ && engine_.conduct() != nullptr) show_scene(now);
}

void DriverCore::poll(HostTime now) {
    while (const auto block = cues_.next_block()) {
        const EngineCall asked = AudioBlockCall{block->first, block->frames, block->asked_at, now};
        if (capture_ != nullptr) capture_->write(asked);
        apply(engine_, asked);
    }
    while (const auto started = cues_.next_started())
        call(OnsetCall{started->id, started->started, started->late, now}, now);
    while (const auto shown = cues_.next_shown())
        call(ShownCall{shown->rep, shown->index, shown->at, shown->frame, now}, now);
    follow_journal(now);
}

}  // namespace breakstep
