#include "hall/engine/engine.hpp"

#include <algorithm>
#include <utility>

#include "core/journal/visiting.hpp"
#include "hall/engine/engine_state.hpp"

namespace breakstep {
namespace {

// A conversion rounds to whole ns; asking again a little later keeps a timer from waking just before its time.
constexpr Duration timer_slack = 2us;

}  // namespace

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
