#include "hall/evening/cut_evening.hpp"

#include <map>
#include <set>

#include "core/conduct/cut_session.hpp"
#include "core/evening/evening.hpp"

namespace breakstep {
namespace {

using namespace evening;

constexpr Duration count_after_strike = 500ms;

// The newest event of the newest boot: what is on the disk has no holes before it.
class Newest {
  public:
    void take(const JournalEvent& event) {
        std::visit(
            [this](const auto& known) {
                if constexpr (requires {
                                  known.sequence;
                                  known.board;
                              })
                    saw(known.board, known.at.boot(), known.sequence);
            },
            event);
    }
    /// The boot of the session or the evening's record that was told last.
    [[nodiscard]] std::optional<KnownRig> of(BootId boot) const {
        const auto found = by_boot_.find(boot);
        return found == by_boot_.end() ? std::nullopt : std::optional(found->second);
    }
    [[nodiscard]] std::optional<BootId> last_boot() const { return last_; }

  private:
    void saw(BoardId board, BootId boot, std::uint16_t sequence) {
        const auto [known, is_new] = by_boot_.try_emplace(boot, KnownRig{board, boot, sequence});
        if (!is_new && static_cast<std::int16_t>(sequence - known->second.through) > 0)
            known->second.through = sequence;
        last_ = boot;
    }
    std::map<BootId, KnownRig> by_boot_;
    std::optional<BootId> last_;
};

// Sets that ended in the session and that the evening does not know of, and its end.
void tell_what_is_untold(SessionId id, const std::vector<JournalRecord>& journal,
                         const std::set<std::pair<SessionId, std::int32_t>>& told, CutEvening& cut) {
    HostTime count{};
    for (const JournalRecord& record : journal) {
        if (std::holds_alternative<StartStruck>(record.event)) count = record.recorded + count_after_strike;
        if (const auto* ended = std::get_if<SetEnded>(&record.event);
            ended != nullptr && !ended->cancelled && !told.contains({id, ended->set})) {
            cut.untold.emplace_back(SetBegan{id, ended->set});
            cut.untold.emplace_back(SetDone{id, ended->set, record.recorded - count});
        }
        if (const auto* over = std::get_if<SessionEnded>(&record.event))
            cut.untold.emplace_back(SessionOver{id, over->how});
    }
}

}  // namespace

Expected<CutEvening> read_cut_evening(Store& store, EveningId id, HostTime now) {
    CutEvening cut;
    State state;
    Newest newest;
    std::set<std::pair<SessionId, std::int32_t>> told;
    const auto read = store.read_evening(id, [&](const EveningRecord& record) {
        fold(state, record.event, record.at);
        if (const auto* done = std::get_if<SetDone>(&record.event)) told.insert({done->session, done->set});
        if (const auto* kept = std::get_if<KeptOutside>(&record.event))
            if (const auto event = breakstep::decode(kept->event, kept->bytes)) newest.take(*event);
        cut.records.push_back(record);
    });
    if (!read) return tl::make_unexpected(read.error());
    std::set<SessionId> open;
    for (const Person& each : state.people)
        if (each.session) open.insert(*each.session);
    const auto sessions = store.sessions();
    if (!sessions) return tl::make_unexpected(sessions.error());
    for (const SessionSummary& summary : *sessions) {
        std::vector<JournalRecord> journal;
        bool is_tonight = false;
        const auto records = store.read_records(summary.id, [&](const JournalRecord& record) {
            if (const auto* began = std::get_if<SessionBegan>(&record.event)) is_tonight = began->evening == id;
            if (!is_tonight) return;
            newest.take(record.event);
            journal.push_back(record);
        });
        if (!records) return tl::make_unexpected(records.error());
        if (!is_tonight || !open.contains(summary.id)) continue;
        tell_what_is_untold(summary.id, journal, told, cut);
        std::vector<JournalRecord> added;
        for (JournalEvent& event : to_stand_aside(journal))
            added.push_back({static_cast<std::int64_t>(journal.size() + added.size()), now, std::move(event)});
        if (!added.empty()) store.append(summary.id, added);
        journal.insert(journal.end(), added.begin(), added.end());
        Score score;
        std::vector<ScoreResult> results;
        for (const JournalRecord& record : journal) score.fold(record, results);
        for (const RepResult& rep : score.reps()) store.keep(summary.id, rep);
        if (!summary.how) cut.sessions.push_back(std::move(journal));
    }
    if (const auto boot = newest.last_boot()) cut.known = newest.of(*boot);
    return cut;
}

}  // namespace breakstep
