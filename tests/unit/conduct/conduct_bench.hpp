// Conduct and score together, without a link: a rig whose lamps answer, stay silent or come late, whose clock is the
// host's own, and an athlete who strikes when told to. Virtual time; owned by one test.
#pragma once

#include <algorithm>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "core/conduct/conduct.hpp"

namespace breakstep::testing {

/// One set of a partner's kicks, cued by a lamp that only the partner sees; each of `kinds` as often.
inline SessionBegan partner_session(const std::vector<AttackKind>& kinds, std::int32_t reps, StartKind start) {
    SessionBegan session;
    session.session = SessionId{1};
    session.athlete = AthleteId{2};
    session.seed = 5;
    session.drill.name = "partner";
    session.drill.start = start;
    session.drill.sets = 1;
    session.drill.reps = reps;
    session.drill.sound = session.drill.screen = false;
    session.drill.partner = {AttackSource::partner, 20s};
    session.drill.attacks.clear();
    for (const AttackKind kind : kinds) session.drill.attacks.emplace_back().kind = kind;
    return session;
}

class ConductBench {
  public:
    enum class Lamps { answer, silent, refuse };

    explicit ConductBench(const SessionBegan& session, CueDevices devices = {})
        : before_strike(session.evening == EveningId{} ? 100ms : 1600ms),
          conduct_(session, devices),
          sound_(devices.sound) {
        record(session);
    }

    Duration before_strike;  ///< from a task to the strike that starts it
    Lamps lamps = Lamps::answer;
    std::vector<GateRole> gates;  ///< of the rig, as of the next connect
    bool partner_lamp = false;
    std::vector<TellPartner> told;  ///< to the partner, so far
    Duration lamps_late{};
    std::int64_t ppb = 0;
    std::vector<JournalRecord> journal;
    std::vector<ScoreResult> results;
    std::vector<CueSound> sounds;  ///< asked for so far

    [[nodiscard]] HostTime now() const { return now_; }
    [[nodiscard]] TargetTime rig_now() const { return {boot_, now_.time_since_epoch()}; }
    [[nodiscard]] const Conduct& conduct() const { return conduct_; }
    [[nodiscard]] const Score& score() const { return score_; }

    void connect(std::uint32_t boot = 1, bool with_lamps = true) {
        boot_ = BootId{boot};
        connected_ = true;
        RigConnected rig{BoardId{9}, boot_, rig_now(), 0, {}};
        for (std::uint8_t i = 0; i < 4; ++i) {
            rig.channels.push_back({ChannelKind::pad, i, i, false, 100us});
            if (with_lamps) rig.channels.push_back({ChannelKind::lamp, i, i, false, 2us});
        }
        for (std::uint8_t i = 0; i < gates.size(); ++i)
            rig.channels.push_back({ChannelKind::gate, i, static_cast<std::uint8_t>(gates[i]), false, 20us});
        if (partner_lamp)
            rig.channels.push_back({ChannelKind::lamp, 4, static_cast<std::uint8_t>(LampRole::partner), false, 2us});
        record(rig);
        bound(100us);
    }
    void bound(Uncertainty bound) { record(ClockBound{rig_now(), bound}); }
    void lose(VoidReason reason) {
        connected_ = reason != VoidReason::board_reset && reason != VoidReason::link_lost;
        if (reason == VoidReason::board_reset) pending_.clear();
        record(RigLost{reason});
    }
    void strike(PadRole pad = PadRole::high_right) { record(PadHit{rig_now(), ++sequence_, pad, 500, 0}); }
    void edge(GateRole gate, bool broken) { record(GateEdge{rig_now(), ++sequence_, gate, broken}); }
    void break_gate(GateRole gate) { record(GateEdge{rig_now(), ++sequence_, gate, true}); }
    /// False if it was refused.
    bool coach(CoachAct act, std::int32_t choice = 0) {
        const CoachInput input{act, choice};
        if (conduct_.refusal(input)) return false;
        record(input);
        return true;
    }

    void list(const PartnerList& list) { conduct_.list_for_partner(list); }
    void suspend() {
        conduct_.suspend(both());
        run();
    }
    [[nodiscard]] bool is_aside() const { return aside_; }
    /// Others' sets are over: it goes on, told of the rig anew.
    void resume(bool other_process = false) {
        aside_ = false;
        record(SessionResumed{other_process});
        if (connected_) connect(static_cast<std::uint32_t>(boot_));
    }
    /// In place of this conduct one that knows only what the journal tells, as another process has it.
    void restart() {
        std::optional<SessionBegan> began;
        std::optional<SessionSuspended> at;
        Score scored;
        std::vector<ScoreResult> ignored;
        for (const JournalRecord& entry : journal) {
            scored.fold(entry, ignored);
            if (const auto* first = std::get_if<SessionBegan>(&entry.event)) began = *first;
            if (const auto* suspended = std::get_if<SessionSuspended>(&entry.event)) at = *suspended;
        }
        std::vector<std::int32_t> given;
        for (const RepResult& rep : scored.reps())
            if (rep.set == at->set && !rep.catch_trial && rep.verdict != Verdict::void_rep) given.push_back(rep.number);
        Conduct again(*began, CueDevices{});
        again.restore(*at, given, scored.reps());
        conduct_ = std::move(again);
        score_ = std::move(scored);
    }
    /// Passes time in small steps, so that everything due happens at its time.
    void pass(Duration span) {
        const HostTime end = now_ + span;
        while (now_ < end && !conduct_.done()) step();
        now_ = std::max(now_, end);
    }
    /// The computer sleeps: time passes and nothing is called.
    void sleep(Duration span) { now_ += span; }
    /// Starts the next set and plays it to its end, striking with `when` (from toe-off) in each attack that is shown.
    template <class Each>
    void play_set(Each each) {
        pass(before_strike);
        strike();
        const auto ended = [this] { return count<SetEnded>(); };
        const std::size_t before = ended();
        for (int i = 0; i < 200'000 && ended() == before && !conduct_.done(); ++i) {
            step();
            each(*this);
        }
    }
    void play_set() {
        play_set([](ConductBench&) {});
    }
    template <class Event>
    [[nodiscard]] std::vector<Event> all() const {
        std::vector<Event> found;
        for (const JournalRecord& entry : journal)
            if (const auto* event = std::get_if<Event>(&entry.event)) found.push_back(*event);
        return found;
    }
    template <class Event>
    [[nodiscard]] std::size_t count() const {
        return all<Event>().size();
    }

  private:
    static constexpr Duration tick = 5ms;
    // So much later than now the link has promised that everything is there.
    static constexpr Duration promise_behind = 10ms;

    [[nodiscard]] Now both() const {
        if (!connected_) return {now_, std::nullopt, std::nullopt};
        return {now_, rig_now(), ClockRate{boot_, ppb, 1'000}};
    }
    void step() {
        now_ += tick;
        if (aside_) {
            pending_.clear();
            return;
        }
        if (connected_) {
            while (!pending_.empty() && pending_.begin()->first <= rig_now().since_boot()) {
                const Pending due = pending_.begin()->second;
                const Duration at = pending_.begin()->first;
                pending_.erase(pending_.begin());
                if (due.order != 0)
                    record(LampsSet{TargetTime(boot_, at), ++sequence_, due.order, due.lit});
                else
                    cue(due.cue, at);
            }
            conduct_.complete_until(rig_now() - promise_behind, both());
            run();
        }
        conduct_.due(both());
        run();
    }
    void cue(CueRef ref, Duration at) {
        conduct_.cue_began(ref, OnsetSource::sound, TargetTime(boot_, at), unknown_uncertainty, 0, both());
        run();
    }
    void record(JournalEvent event) {
        JournalRecord entry{static_cast<std::int64_t>(journal.size()), now_, std::move(event)};
        const std::size_t first = results.size();
        journal.push_back(entry);
        score_.fold(entry, results);
        conduct_.on_record(entry, both());
        for (std::size_t i = first; i < results.size(); ++i) {
            const ScoreResult result = results[i];
            conduct_.on_result(result, both());
        }
        run();
    }
    void run() {
        if (running_) return;
        running_ = true;
        for (std::vector<ConductCommand> commands; conduct_.take(commands), !commands.empty(); commands.clear())
            for (ConductCommand& command : commands) carry_out(command);
        running_ = false;
    }
    void carry_out(ConductCommand& command) {
        if (std::holds_alternative<SessionAside>(command)) aside_ = true;
        if (const auto* sound = std::get_if<PlaySound>(&command); sound != nullptr) sounds.push_back(sound->sound);
        if (const auto* tell = std::get_if<TellPartner>(&command)) told.push_back(*tell);
        if (auto* append = std::get_if<Append>(&command)) {
            running_ = false;
            record(std::move(append->event));
            running_ = true;
        } else if (const auto* order = std::get_if<OrderLamps>(&command)) {
            const std::uint16_t number = ++order_;
            conduct_.lamps_ordered(order->cue, number, both());
            if (lamps == Lamps::answer)
                pending_.emplace(order->at.since_boot() + lamps_late, Pending{number, order->lit, {}});
            if (lamps == Lamps::refuse) refused_.push_back(number);
        } else if (std::holds_alternative<CancelLamps>(command)) {
            std::erase_if(pending_, [](const auto& each) { return each.second.order != 0; });
        } else if (const auto* sound = std::get_if<PlaySound>(&command)) {
            if (sound_ && sound->at && sound->cue.rep != CueRef::none)
                pending_.emplace(sound->at->since_boot(), Pending{0, 0, sound->cue});
        }
        while (!refused_.empty() && connected_) {
            const std::uint16_t number = refused_.back();
            refused_.pop_back();
            running_ = false;
            record(LampsRefused{rig_now(), ++sequence_, number, 1});
            running_ = true;
        }
    }

    struct Pending {
        std::uint16_t order;
        LampSet lit;
        CueRef cue;
    };
    Conduct conduct_;
    Score score_;
    bool sound_;
    HostTime now_{10s};
    BootId boot_{1};
    bool connected_ = false, running_ = false, aside_ = false;
    std::uint16_t order_ = 0, sequence_ = 0;
    std::multimap<Duration, Pending> pending_;
    std::vector<std::uint16_t> refused_;
};

}  // namespace breakstep::testing
