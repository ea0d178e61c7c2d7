#include "hall/engine/engine.hpp"

#include <algorithm>
#include <deque>
#include <map>
#include <set>
#include <unordered_map>
#include <utility>

#include "core/journal/visiting.hpp"
#include "core/reading/reading_method.hpp"
#include "link/clock.hpp"

namespace breakstep {
namespace {

// A conversion rounds to whole ns; asking again a little later keeps a timer from waking just before its time.
constexpr Duration timer_slack = 2us;
// Sounds that belong to no moment of the attack: far enough ahead to be mixed, near enough to be felt as at once.
constexpr Duration sound_ahead = 80ms;

}  // namespace

void EngineOutput::clear() {
    frames.clear();
    records.clear();
    results.clear();
    sounds.clear();
    rig_answers.clear();
    test_sounds.clear();
    flashes.clear();
    partner_cues.clear();
    refusals.clear();
    session.reset();
    aside_records.clear();
    aside_results.clear();
    session_aside.reset();
    scene_changed = false;
    session_done.reset();
}

struct Engine::State {
    explicit State(const EngineSettings& wanted) : settings(wanted), link(wanted.link, wanted.seed) {}

    [[nodiscard]] Now now_at(HostTime host) const {
        const auto target = link.target_time_from(host);
        return {host, target ? std::optional(target->at) : std::nullopt, link.rate()};
    }

    void pump(HostTime host);
    void on_link(const LinkEvent& event, const Now& now);
    template <class Event>
    void happened(const Event& event, const Now& now);
    template <class Event>
    void record_or_tell(const Event& event, const Now& now);
    void record(JournalEvent event, const Now& now);
    void run_commands(const Now& now);
    void run(ConductCommand& command, const Now& now);
    void play(const PlaySound& sound, const Now& now);
    void test_sound(const Now& now);
    void coach(const CoachInput& wanted, const Now& now);
    void start(const StartSession& start, const Now& now);
    void tell_rig(const Now& now);
    void put_aside();
    void resume(const ResumeSession& wanted, const Now& now);
    void restore(const RestoreSession& wanted);
    void void_rep(const VoidRep& wanted, const Now& now);
    void safe(SessionId of, std::int64_t position, HostTime now);
    void follow_gates(const GateEdge& edge);

    const EngineSettings settings;
    Link link;
    AudioClock audio_clock;
    std::int32_t block_frames = 0;  ///< as the sound device asks for them

    std::optional<SessionBegan> session;
    bool running = false;
    std::optional<Conduct> conduct;
    std::optional<Score> score;
    std::int64_t position = 0;
    std::optional<RigConnected> rig;  ///< with gates_broken kept current
    bool rig_there = false;           ///< found, though its clock may not be known yet
    Uncertainty last_bound = unknown_uncertainty;

    struct Aside {
        SessionBegan session;
        Conduct conduct;
        Score score;
        std::int64_t position;
    };
    std::map<SessionId, Aside> aside;
    bool keeps_idle = false;
    std::int64_t idle_position = 0;  ///< of the next rig event outside sessions
    static constexpr SessionId idle{};

    struct Unsafe {
        SessionId session;  ///< `idle`: kept outside sessions
        std::int64_t position;
        BootId boot;
        std::uint16_t sequence;
    };
    std::map<SessionId, std::int64_t> safe_until;
    std::deque<Unsafe> unsafe;  ///< rig events in the journal that are not known to be on disk

    std::uint64_t next_sound = 1;
    std::unordered_map<std::uint64_t, CueRef> sounds;
    std::vector<std::uint64_t> test_sounds;  ///< ids under way

    EngineOutput out;
    EngineCounters counters;
    std::vector<LinkEvent> link_events;
    std::vector<ScoreResult> results;
    std::vector<ConductCommand> commands;
};

void Engine::State::pump(HostTime host) {
    const Now now = now_at(host);
    link_events.clear();
    link.take(link_events);
    for (const LinkEvent& event : link_events) on_link(event, now);
    if (running) {
        if (const auto complete = link.complete_until()) conduct->complete_until(*complete, now);
        conduct->due(now);
        run_commands(now);
    }
}

void Engine::State::follow_gates(const GateEdge& edge) {
    if (!rig) return;
    for (const Channel& channel : rig->channels)
        if (channel.kind == ChannelKind::gate && channel.role == static_cast<std::uint8_t>(edge.gate)) {
            const auto bit = static_cast<std::uint8_t>(1U << channel.index);
            rig->gates_broken =
                static_cast<std::uint8_t>(edge.broken ? rig->gates_broken | bit : rig->gates_broken & ~bit);
            rig->snapshot_at = edge.at;
        }
}

// An event that the rig keeps until it may forget it.
template <class Event>
void Engine::State::happened(const Event& event, const Now& now) {
    const BootId boot = event.at.boot();
    // Nothing is kept outside sessions, so the rig may forget it: at once, or after what the last session still has to
    // commit, since an acknowledgement covers everything before it.
    if (running)
        unsafe.push_back({session->session, position, boot, event.sequence});
    else if (keeps_idle)
        unsafe.push_back({idle, idle_position++, boot, event.sequence});
    else if (unsafe.empty())
        link.committed(now.host, boot, event.sequence);
    else
        unsafe.push_back({unsafe.back().session, unsafe.back().position, boot, event.sequence});
    record_or_tell(event, now);
}

template <class Event>
void Engine::State::record_or_tell(const Event& event, const Now& now) {
    if (running)
        record(event, now);
    else
        out.rig_answers.push_back(event);
}

void Engine::State::on_link(const LinkEvent& event, const Now& now) {
    std::visit(Overloaded{[&](const RigConnected& connected) {
                              rig = connected;
                              rig_there = true;
                              record_or_tell(connected, now);
                          },
                          [&](const RigLost& lost) {
                              last_bound = unknown_uncertainty;
                              rig_there = false;
                              record_or_tell(lost, now);
                          },
                          [&](const ClockBound& known) {
                              last_bound = known.bound;
                              record_or_tell(known, now);
                          },
                          [&](const EventsLost& lost) {
                              if (running) unsafe.push_back({session->session, position, lost.boot, lost.last});
                              record_or_tell(lost, now);
                          },
                          [&](const GateEdge& edge) {
                              follow_gates(edge);
                              happened(edge, now);
                          },
                          [&](const OneOf<PadHit, SyncEdge, LampsSet, LampsRefused, EventSkipped> auto& known) {
                              happened(known, now);
                          },
                          [&](const OneOf<RigRefused, PadLevel, RigCounters, SettingValue> auto& answer) {
                              out.rig_answers.push_back(answer);
                          }},
               event);
}

void Engine::State::record(JournalEvent event, const Now& now) {
    JournalRecord entry{position++, now.host, std::move(event)};
    const std::size_t first = results.size();
    score->fold(entry, results);
    conduct->on_record(entry, now);
    out.session = session->session;
    out.records.push_back(std::move(entry));
    for (std::size_t i = first; i < results.size(); ++i) {
        conduct->on_result(results[i], now);
        out.results.push_back(results[i]);
    }
    results.resize(first);
    run_commands(now);
}

void Engine::State::run_commands(const Now& now) {
    // A command may record an event, which may bring more commands: they run in the order in which they were given.
    const bool already_running = !commands.empty();
    conduct->take(commands);
    if (already_running) return;
    for (std::size_t i = 0; i < commands.size(); ++i) {
        ConductCommand command = std::move(commands[i]);
        run(command, now);
        if (conduct) conduct->take(commands);  // it may stand aside now
    }
    commands.clear();
}

void Engine::State::run(ConductCommand& command, const Now& now) {
    std::visit(Overloaded{[&](Append& append) { record(std::move(append.event), now); },
                          [&](const OrderLamps& order) {
                              const std::uint16_t id = link.order_lamps(now.host, order.at, order.affected, order.lit);
                              conduct->lamps_ordered(order.cue, id, now);
                          },
                          [&](const CancelLamps&) { link.cancel_lamps(now.host); },
                          [&](const PlaySound& sound) { play(sound, now); },
                          [&](const CancelSounds&) { out.sounds.push_back(SoundsCancelled{}); },
                          [&](const ShowScene&) { out.scene_changed = true; },
                          [&](const SessionDone& done) {
                              out.session_done = done.how;
                              running = false;
                          },
                          [&](const SessionAside&) { put_aside(); },
                          [&](const TellPartner& tell) {
                              const auto host = link.host_time_from(tell.at);
                              if (host) out.partner_cues.push_back({tell.rep, tell.what, tell.lead, host->at});
                          },
                          [&](const AskPing& ask) {
                              if (const auto host = link.host_time_from(ask.at)) link.ask_ping(host->at);
                          }},
               command);
}

void Engine::State::play(const PlaySound& sound, const Now& now) {
    if (!settings.devices.sound) return;
    // What belongs to no moment comes as soon as it can be mixed: two blocks ahead, once a block was asked for.
    HostTime heard =
        now.host +
        (block_frames > 0 ? 2 * Duration(block_frames * 1'000'000'000LL / audio_frames_per_second) : sound_ahead);
    if (sound.at) {
        const auto host = link.host_time_from(*sound.at);
        if (!host) {
            ++counters.cues_unconverted;
            return;
        }
        heard = host->at;
    }
    // What the speaker adds is taken off beforehand, as far as the block being mixed allows.
    if (settings.sound_delay) heard -= settings.sound_delay->delay;
    if (!audio_clock.has_fit()) {
        ++counters.sounds_without_clock;
        return;
    }
    const AudioReading frame = audio_clock.audio_frame_from(heard);
    const std::uint64_t id = next_sound++;
    if (sound.cue.rep != CueRef::none) sounds[id] = sound.cue;
    out.sounds.push_back(SoundOrder{id, sound.sound, frame.at});
}

void Engine::State::test_sound(const Now& now) {
    if (!settings.devices.sound || !audio_clock.has_fit()) {
        ++counters.sounds_without_clock;
        return;
    }
    const std::uint64_t id = next_sound++;
    test_sounds.push_back(id);
    out.sounds.push_back(SoundOrder{id, CueSound::count, audio_clock.audio_frame_from(now.host + sound_ahead).at});
}

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

Engine::Engine(const EngineSettings& settings) : state_(std::make_unique<State>(settings)) {}
Engine::~Engine() = default;
Engine::Engine(Engine&&) noexcept = default;
Engine& Engine::operator=(Engine&&) noexcept = default;

void Engine::port(bool open, HostTime now) {
    if (open)
        state_->link.port_opened(now);
    else
        state_->link.port_closed(now);
    state_->pump(now);
}

void Engine::bytes(HostTime arrived, std::span<const std::uint8_t> received) {
    state_->link.bytes(arrived, received);
    state_->pump(arrived);
}

void Engine::due(HostTime now) {
    state_->link.due(now);
    state_->pump(now);
}

std::optional<HostTime> Engine::next_due() const {
    std::optional<HostTime> next = state_->link.next_due();
    const auto earlier = [&next](HostTime other) {
        if (!next || other < *next) next = other;
    };
    if (!state_->running) return next;
    const Due due = state_->conduct->next_due();
    if (due.host) earlier(*due.host);
    if (due.rig)
        if (const auto host = state_->link.host_time_from(*due.rig)) earlier(host->at + timer_slack);
    return next;
}

void Engine::sent(FrameId frame, HostTime at) { state_->link.sent(frame, at); }

void Engine::committed(SessionId session, std::int64_t position, HostTime now) {
    State& s = *state_;
    if (!s.keeps_idle && (!s.session || s.session->session != session)) return;
    s.safe(session, position, now);
    s.pump(now);
}

// An acknowledgement covers everything before it: each waits for those before.
void Engine::State::safe(SessionId of, std::int64_t at, HostTime now) {
    auto& known = safe_until.try_emplace(of, -1).first->second;
    known = std::max(known, at);
    while (!unsafe.empty()) {
        const Unsafe& first = unsafe.front();
        const auto found = safe_until.find(first.session);
        if (found == safe_until.end() || found->second < first.position) return;
        link.committed(now, first.boot, first.sequence);
        unsafe.pop_front();
    }
}

void Engine::onset(std::uint64_t sound, AudioFrame frame, bool late, HostTime now) {
    State& s = *state_;
    if (late) ++s.counters.sounds_late;
    if (std::erase(s.test_sounds, sound) > 0 && s.audio_clock.has_fit()) {
        if (const auto began = s.link.target_time_from(s.audio_clock.host_time_from(frame).at))
            s.out.test_sounds.push_back(began->at);
        return;
    }
    const auto found = s.sounds.find(sound);
    if (found == s.sounds.end()) return;
    const CueRef cue = found->second;
    s.sounds.erase(found);
    if (!s.running) return;
    if (!s.audio_clock.has_fit()) {
        ++s.counters.cues_unconverted;
        return;
    }
    const HostReading mixed = s.audio_clock.host_time_from(frame);
    const HostTime heard = mixed.at + (s.settings.sound_delay ? s.settings.sound_delay->delay : Duration{});
    const auto target = s.link.target_time_from(heard);
    if (!target) {
        ++s.counters.cues_unconverted;
        return;
    }
    const bool measured = s.settings.sound_delay && s.settings.sound_delay->spread != unknown_uncertainty;
    const Uncertainty uncertainty =
        measured ? s.settings.sound_delay->spread + mixed.bound + target->bound : unknown_uncertainty;
    s.conduct->cue_began(cue, OnsetSource::sound, target->at, uncertainty, static_cast<std::int64_t>(frame),
                         s.now_at(now));
    s.pump(now);
}

void Engine::shown(RepId rep, std::int32_t index, HostTime shown_at, std::int64_t frame, HostTime now) {
    State& s = *state_;
    if (!s.running) {
        if (const auto flash = s.link.target_time_from(shown_at)) s.out.flashes.push_back(flash->at);
        return;
    }
    const HostTime seen = shown_at + (s.settings.screen_delay ? s.settings.screen_delay->delay : Duration{});
    const auto target = s.link.target_time_from(seen);
    if (!target) {
        ++s.counters.cues_unconverted;
        return;
    }
    const bool measured = s.settings.screen_delay && s.settings.screen_delay->spread != unknown_uncertainty;
    const Uncertainty uncertainty = measured ? s.settings.screen_delay->spread + target->bound : unknown_uncertainty;
    s.conduct->cue_began({rep, index}, OnsetSource::screen, target->at, uncertainty, frame, s.now_at(now));
    s.pump(now);
}

void Engine::audio_block(AudioFrame first, std::int32_t frames, HostTime asked_at, HostTime) {
    state_->block_frames = frames;
    state_->audio_clock.callback(first, asked_at);
}

void Engine::State::coach(const CoachInput& wanted, const Now& now) {
    const auto refusal = running ? conduct->refusal(wanted) : std::optional<std::string_view>("no session runs");
    if (refusal)
        out.refusals.emplace_back(*refusal);
    else
        record(wanted, now);
}

void Engine::input(const EngineInput& command, HostTime now) {
    State& s = *state_;
    const Now both = s.now_at(now);
    std::visit(
        Overloaded{
            [&](const StartSession& start) { s.start(start, both); },
            [&](const Coach& coach) { s.coach(coach.input, both); },
            [&](const ToggleVoid& toggle) {
                if (s.running) s.conduct->toggle_void(toggle.rep, both);
            },
            [&](const AskCounters&) { s.link.request_counters(now); },
            [&](const SwitchLevels& levels) { s.link.set_levels(now, levels.on); },
            [&](const ChangeSetting& change) { s.link.set_setting(now, change.key, change.index, change.value); },
            [&](const AskSetting& ask) { s.link.get_setting(now, ask.key, ask.index); },
            [&](const TestSound&) { s.test_sound(both); },
            [&](const SuspendSession&) {
                if (!s.running) return;
                s.conduct->suspend(both);
                s.run_commands(both);
            },
            [&](const ResumeSession& wanted) { s.resume(wanted, both); },
            [&](const VoidRep& wanted) { s.void_rep(wanted, both); }, [&](const KeepIdle&) { s.keeps_idle = true; },
            [&](const RestoreSession& wanted) { s.restore(wanted); },
            [&](const ListForPartner& wanted) {
                if (s.running) s.conduct->list_for_partner(wanted.list);
            }},
        command);
    s.pump(now);
}

void Engine::drain(EngineOutput& out) {
    State& s = *state_;
    s.link.drain(s.out.frames);
    const auto move_all = [](auto& from, auto& to) {
        for (auto& item : from) to.push_back(std::move(item));
        from.clear();
    };
    move_all(s.out.frames, out.frames);
    move_all(s.out.records, out.records);
    move_all(s.out.results, out.results);
    move_all(s.out.sounds, out.sounds);
    move_all(s.out.rig_answers, out.rig_answers);
    move_all(s.out.test_sounds, out.test_sounds);
    move_all(s.out.flashes, out.flashes);
    move_all(s.out.partner_cues, out.partner_cues);
    move_all(s.out.refusals, out.refusals);
    move_all(s.out.aside_records, out.aside_records);
    move_all(s.out.aside_results, out.aside_results);
    if (s.out.session_aside) out.session_aside = s.out.session_aside;
    if (s.out.session) out.session = s.out.session;
    out.scene_changed = out.scene_changed || s.out.scene_changed;
    if (s.out.session_done) out.session_done = s.out.session_done;
    s.out.clear();
}

const Link& Engine::link() const { return state_->link; }
const EngineCounters& Engine::counters() const { return state_->counters; }
const Conduct* Engine::conduct() const { return state_->conduct ? &*state_->conduct : nullptr; }
const Score* Engine::score() const { return state_->score ? &*state_->score : nullptr; }
bool Engine::in_session() const { return state_->running; }
std::optional<SessionId> Engine::running_session() const {
    return state_->running ? std::optional(state_->session->session) : std::nullopt;
}
const Score* Engine::score_of(SessionId session) const {
    if (state_->score && state_->session && state_->session->session == session) return &*state_->score;
    const auto found = state_->aside.find(session);
    return found == state_->aside.end() ? nullptr : &found->second.score;
}

}  // namespace breakstep
