#include "simulation/swarm_rules.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <set>
#include <span>

#include "core/journal/codec.hpp"

namespace breakstep::swarm {
namespace {

using Session = SwarmJournal::Session;
using EventKey = std::pair<BootId, std::uint16_t>;

// A lamp that lit farther from its plan showed another attack (conduct's own limit).
constexpr Duration lamp_off_most = 20ms;

std::int32_t number(RepId rep) { return static_cast<std::int32_t>(rep); }

struct Rules {
    const Played& played;
    std::vector<std::string> broken;

    void require(bool holds, std::string rule) {
        if (!holds) broken.push_back(std::move(rule));
    }

    // ---- the journal as it stands ----

    void positions_have_no_holes(const Session& session) {
        require(session.out_of_order == 0, "positions of the journal have holes or repeat");
        HostTime before{};
        bool ended = false;
        for (const JournalRecord& record : session.records) {
            require(record.recorded >= before,
                    fmt::format("record {} was recorded before the one before it", record.position));
            before = record.recorded;
            require(!ended, fmt::format("record {} stands after the session's end", record.position));
            ended = ended || std::holds_alternative<SessionEnded>(record.event);
        }
        require(!session.records.empty() && std::holds_alternative<SessionBegan>(session.records[0].event),
                "a session does not begin with session_began");
    }

    void no_event_twice() {
        std::set<EventKey> seen;
        for (const Session& session : played.journal.sessions())
            for (const JournalRecord& record : session.kept())
                std::visit(
                    [&](const auto& event) {
                        if constexpr (requires { event.at, event.sequence; })
                            require(seen.emplace(event.at.boot(), event.sequence).second,
                                    fmt::format("event {} of a boot is in the journal twice", event.sequence));
                    },
                    record.event);
    }

    // ---- reps ----

    // Each rep of a scheduled drill is cued as planned or not at all; a redraw carries its reason.
    void reps_are_as_planned(const Session& session) {
        std::map<std::int32_t, PlannedRep> planned;
        for (const JournalRecord& record : session.records) {
            if (const auto* plan = std::get_if<SetPlanned>(&record.event)) {
                require(plan->redrawn == (plan->reason != RedrawReason::none), "a redraw carries no reason");
                for (const PlannedRep& rep : plan->reps) planned[number(rep.rep)] = rep;
            }
            const auto* opened = std::get_if<RepOpened>(&record.event);
            if (opened == nullptr || (opened->start != StartKind::random && opened->start != StartKind::pattern))
                continue;
            const StartKind asked = played.plan.drill.start;
            if (asked != StartKind::random && asked != StartKind::pattern) continue;  // the call after a long wait
            const auto found = planned.find(number(opened->rep));
            require(found != planned.end(), fmt::format("rep {} was opened and never planned", number(opened->rep)));
            if (found == planned.end()) continue;
            require(opened->onset == found->second.onset,
                    fmt::format("rep {} was opened at another moment than planned", number(opened->rep)));
            require(opened->catch_trial == found->second.catch_trial,
                    fmt::format("rep {} was planned as something else", number(opened->rep)));
        }
    }

    void reps_open_only_when_they_may(const Session& session) {
        bool paused = false, running = false;
        const StartKind asked = played.plan.drill.start;
        const bool called = asked == StartKind::drawn || asked == StartKind::hunted;
        for (const JournalRecord& record : session.records) {
            if (std::holds_alternative<SetPlanned>(record.event)) running = true;
            if (std::holds_alternative<SetEnded>(record.event)) running = false;
            if (const auto* input = std::get_if<CoachInput>(&record.event)) {
                if (input->act == CoachAct::pause) paused = true;
                if (input->act == CoachAct::go_on) paused = false;
                require(input->act != CoachAct::tap_attack || asked == StartKind::tapped,
                        "a tap was taken in a drill that is not tapped");
            }
            const auto* opened = std::get_if<RepOpened>(&record.event);
            if (opened == nullptr) continue;
            const std::string rep = fmt::format("rep {}", number(opened->rep));
            require(!paused, rep + " was opened in a pause");
            require(running, rep + " was opened outside a set");
            require(opened->start == asked || (called && opened->start == StartKind::random),
                    rep + " was opened by something else than its drill's start");
            for (const auto& failing : played.journal.failings())
                require(record.recorded <= failing.from || (failing.until && record.recorded >= *failing.until),
                        rep + " was opened while the store failed");
        }
    }

    void reps_close_once(const Session& session) {
        std::set<std::int32_t> open, closed;
        std::int32_t newest = -1;
        for (const JournalRecord& record : session.records) {
            if (const auto* opened = std::get_if<RepOpened>(&record.event)) {
                require(number(opened->rep) > newest, fmt::format("rep {} was opened again", number(opened->rep)));
                newest = std::max(newest, number(opened->rep));
                open.insert(number(opened->rep));
            }
            if (const auto* close = std::get_if<RepClosed>(&record.event)) {
                require(open.erase(number(close->rep)) == 1,
                        fmt::format("rep {} was closed without being open", number(close->rep)));
                closed.insert(number(close->rep));
            }
            if (std::holds_alternative<SetEnded>(record.event)) require(open.empty(), "a set ended with a rep open");
        }
    }

    // What a lamp showed at another moment than planned was no such attack: the rep is void.
    void late_cues_are_void(const Session& session) {
        std::map<std::int32_t, RepOpened> opened;
        std::set<std::int32_t> late, voided;
        for (const JournalRecord& record : session.records) {
            if (const auto* rep = std::get_if<RepOpened>(&record.event)) opened[number(rep->rep)] = *rep;
            if (const auto* rep = std::get_if<RepVoided>(&record.event)) voided.insert(number(rep->rep));
            const auto* began = std::get_if<PhaseBegan>(&record.event);
            if (began == nullptr || began->source != OnsetSource::lamp) continue;
            const RepOpened& rep = opened[number(began->rep)];
            TargetTime planned = rep.onset;
            for (std::int32_t i = 0; i < began->index; ++i)
                planned = planned + rep.phases[static_cast<std::size_t>(i)].length;
            if (!began->at.same_boot(planned)) continue;
            const Duration off = began->at - planned;
            if (off > lamp_off_most || off < -lamp_off_most) late.insert(number(began->rep));
        }
        for (const std::int32_t rep : late)
            require(voided.contains(rep), fmt::format("rep {} was lit at another moment and is not void", rep));
    }

    // ---- scoring ----

    // Through the bytes, as the store keeps them.
    static Score rescored(std::span<const JournalRecord> records) {
        Score score;
        std::vector<ScoreResult> results;
        std::string bytes;
        for (const JournalRecord& record : records) {
            bytes.clear();
            encode(record.event, bytes);
            const auto event = decode(kind_of(record.event), bytes);
            if (!event) broken_invariant("an event of the swarm can't be decoded");
            results.clear();
            score.fold({record.position, record.recorded, *event}, results);
        }
        return score;
    }

    static std::map<std::int32_t, RepResult> by_rep(const Score& score) {
        std::map<std::int32_t, RepResult> reps;
        for (const RepResult& rep : score.reps()) reps.insert_or_assign(number(rep.rep), rep);
        return reps;
    }

    void rescoring_gives_the_same() {
        const Session& last = played.journal.sessions().back();
        const Score again = rescored(last.records);
        require(again.reps() == played.live_reps, "rescoring gives other reps than the live session");
        require(again.intervals() == played.live_intervals, "rescoring gives other intervals than the live session");
        require(again.totals() == played.live_totals, "rescoring gives other totals than the live session");
        require(by_rep(again) == last.reps, "the store was given other reps than rescoring gives");
        if (played.end) require(last.totals == again.totals(), "the store was given other totals than rescoring gives");
    }

    // A program that ended in the middle of a call had kept what its journal says, up to that call.
    void a_cut_session_rescores() {
        for (const Session& session : played.journal.sessions()) {
            if (!session.cut) continue;
            const auto before = by_rep(rescored({session.records.data(), session.before_last}));
            const auto after = by_rep(rescored(session.records));
            for (const auto& [rep, kept] : session.reps) {
                const auto old = before.find(rep), now = after.find(rep);
                require((old != before.end() && old->second == kept) || (now != after.end() && now->second == kept),
                        fmt::format("rep {} of the cut session is kept otherwise than its journal scores", rep));
            }
            const auto found = by_rep(rescored(session.kept()));
            require(found.size() <= after.size(), "the cut journal scores more reps than the whole one");
        }
    }

    // ---- the rig ----

    // When each event was safe: committed in a session, or known outside one, where nothing is kept.
    [[nodiscard]] std::map<EventKey, HostTime> safe_times() const {
        std::map<EventKey, HostTime> safe;
        for (const Session& session : played.journal.sessions()) {
            auto commit = session.commits.begin();
            for (const JournalRecord& record : session.records) {
                while (commit != session.commits.end() && commit->second < record.position) ++commit;
                if (commit == session.commits.end()) break;
                std::visit(
                    [&](const auto& event) {
                        if constexpr (requires { event.at, event.sequence; })
                            safe.emplace(EventKey{event.at.boot(), event.sequence}, commit->first);
                        if constexpr (std::is_same_v<std::remove_cvref_t<decltype(event)>, EventsLost>)
                            for (auto lost = event.first; lost != static_cast<std::uint16_t>(event.last + 1); ++lost)
                                safe.emplace(EventKey{event.boot, lost}, commit->first);
                    },
                    record.event);
            }
        }
        for (const ProgramRun& program : played.programs)
            for (const auto& [key, at] : program.outside) {
                const auto [there, fresh] = safe.emplace(key, at);
                if (!fresh) there->second = std::min(there->second, at);
            }
        return safe;
    }

    // When each program first understood each boot. What a rig kept from before that is not told.
    [[nodiscard]] std::vector<std::map<BootId, HostTime>> meetings() const {
        std::vector<std::map<BootId, HostTime>> met;
        for (std::size_t i = 0; i < played.programs.size(); ++i) {
            met.push_back(played.programs[i].met);
            if (i >= played.journal.sessions().size()) continue;
            for (const JournalRecord& record : played.journal.sessions()[i].records)  // one session a program
                if (const auto* rig = std::get_if<RigConnected>(&record.event))
                    met[i].emplace(rig->boot, record.recorded);
        }
        return met;
    }

    void nothing_is_released_before_it_is_safe() {
        const auto safe = safe_times();
        std::map<BootId, std::map<std::uint16_t, const RigTruth*>> numbered;
        for (const RigTruth& truth : played.truths) numbered[truth.boot][truth.event.sequence] = &truth;
        const auto met = meetings();
        std::map<BootId, std::uint16_t> through;
        std::size_t program = 0;
        for (const RigReleased& released : played.released) {
            while (program + 1 < met.size() && played.programs[program + 1].began <= released.at) ++program;
            for (auto next = through[released.boot]; next < released.through;) {
                const auto found = numbered[released.boot].find(++next);
                if (found == numbered[released.boot].end()) continue;
                const auto known = safe.find({released.boot, next});
                const auto meeting = met[program].find(released.boot);
                const bool from_before = meeting != met[program].end() && found->second->at <= meeting->second;
                require(from_before || (known != safe.end() && known->second <= released.at),
                        fmt::format("event {} was acknowledged to the rig before it was committed", next));
            }
            through[released.boot] = std::max(through[released.boot], released.through);
        }
    }
};

}  // namespace

std::vector<std::string> broken_rules(const Played& played) {
    Rules rules{played, {}};
    rules.require(played.fault.empty(), played.fault);
    for (const Session& session : played.journal.sessions()) {
        rules.positions_have_no_holes(session);
        rules.reps_are_as_planned(session);
        rules.reps_open_only_when_they_may(session);
        rules.reps_close_once(session);
        rules.late_cues_are_void(session);
    }
    rules.no_event_twice();
    rules.rescoring_gives_the_same();
    rules.a_cut_session_rescores();
    rules.nothing_is_released_before_it_is_safe();
    return std::move(rules.broken);
}

}  // namespace breakstep::swarm
