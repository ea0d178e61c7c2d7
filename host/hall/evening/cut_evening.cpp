#include "hall/evening/cut_evening.hpp"

#include <algorithm>
#include <map>
#include <set>

#include "core/conduct/cut_session.hpp"
#include "core/evening/evening.hpp"
#include "core/trade/rules.hpp"
#include "hall/evening/moved_set.hpp"

namespace breakstep {
namespace {

using namespace evening;

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

class Reader {
  public:
    Reader(EveningStores& stores, const GoingOn& going) : stores_(stores), going_(going) {}

    [[nodiscard]] Expected<CutEvening> read();

  private:
    [[nodiscard]] Expected<void> read_evening();
    [[nodiscard]] Expected<void> read_sessions();
    void tell(EveningEvent event);
    void tell_what_is_untold(SessionId id);
    void stand_aside(SessionId id);
    void finish_move(const SetMoved& moved);
    void add(SessionId id, std::vector<JournalEvent> events);
    void keep_results(SessionId id);

    EveningStores& stores_;
    const GoingOn& going_;
    CutEvening cut_;
    State state_;
    Newest newest_;
    EveningTime latest_{};
    std::set<std::pair<SessionId, std::int32_t>> told_;
    std::vector<SetMoved> moves_;
    std::map<SessionId, std::vector<JournalRecord>> journals_;
    std::set<SessionId> ended_;
};

Expected<void> Reader::read_evening() {
    const auto read = stores_.store().read_evening(going_.evening, [&](const EveningRecord& record) {
        fold(state_, record.event, record.at);
        latest_ = std::max(latest_, record.at);
        if (const auto* done = std::get_if<SetDone>(&record.event)) told_.insert({done->session, done->set});
        if (const auto* moved = std::get_if<SetMoved>(&record.event)) moves_.push_back(*moved);
        if (const auto* kept = std::get_if<KeptOutside>(&record.event))
            if (const auto event = breakstep::decode(kept->event, kept->bytes)) newest_.take(*event);
        cut_.records.push_back(record);
    });
    latest_ = std::max(latest_, going_.at);
    if (!read) return tl::make_unexpected(read.error());
    return {};
}

Expected<void> Reader::read_sessions() {
    const auto sessions = stores_.sessions();
    if (!sessions) return tl::make_unexpected(sessions.error());
    for (const SessionSummary& summary : *sessions) {
        std::vector<JournalRecord> journal;
        bool is_tonight = false;
        const auto records = stores_.read_records(summary.id, [&](const JournalRecord& record) {
            if (const auto* began = std::get_if<SessionBegan>(&record.event))
                is_tonight = began->evening == going_.evening;
            if (!is_tonight) return;
            newest_.take(record.event);
            journal.push_back(record);
        });
        if (!records) return tl::make_unexpected(records.error());
        if (!is_tonight) continue;
        if (summary.how) ended_.insert(summary.id);
        journals_.emplace(summary.id, std::move(journal));
    }
    return {};
}

// At once in the store: what follows from it must not come before it.
void Reader::tell(EveningEvent event) {
    EveningRecord record{static_cast<std::int64_t>(cut_.records.size()), latest_, std::move(event)};
    fold(state_, record.event, record.at);
    stores_.append_evening(going_.evening, {&record, 1});
    cut_.records.push_back(std::move(record));
}

// Sets that ended in the session and that the evening does not know of, and its end.
void Reader::tell_what_is_untold(SessionId id) {
    HostTime count{};
    for (const JournalRecord& record : journals_.at(id)) {
        if (std::holds_alternative<StartStruck>(record.event)) count = record.recorded + after_start_strike;
        if (const auto* done = std::get_if<SetEnded>(&record.event);
            done != nullptr && !done->cancelled && !told_.contains({id, done->set})) {
            tell(SetBegan{id, done->set});
            tell(SetDone{id, done->set, record.recorded - count});
        }
        if (const auto* over = std::get_if<SessionEnded>(&record.event)) tell(SessionOver{id, over->how});
    }
}

void Reader::add(SessionId id, std::vector<JournalEvent> events) {
    std::vector<JournalRecord>& journal = journals_[id];
    const std::size_t before = journal.size();
    for (JournalEvent& event : events)
        journal.push_back({static_cast<std::int64_t>(journal.size()), going_.now, std::move(event)});
    if (journal.size() > before) stores_.append(id, std::span(journal).subspan(before));
}

void Reader::keep_results(SessionId id) {
    Score score;
    std::vector<ScoreResult> results;
    for (const JournalRecord& record : journals_.at(id)) score.fold(record, results);
    for (const RepResult& rep : score.reps()) stores_.keep(id, rep);
    if (ended_.contains(id)) stores_.keep_totals(id, score.totals());
}

// What is there of it already stays; the rest is done. Done twice it is as done once.
void Reader::finish_move(const SetMoved& moved) {
    const auto from = journals_.find(moved.session);
    if (moved.first < 0 || from == journals_.end() || moved.last < moved.first ||
        moved.last >= std::ssize(from->second))
        return;
    const auto stretch =
        std::span(from->second)
            .subspan(static_cast<std::size_t>(moved.first), static_cast<std::size_t>(moved.last - moved.first + 1));
    SessionBegan began = std::get<SessionBegan>(from->second.front().event);
    const Side lead = going_.lead ? going_.lead(moved.to) : Side::right;
    began.participants = participants_after(began, moved.to, lead);
    began.session = moved.in;
    began.athlete = moved.to;
    began.athlete_lead = lead;
    began.prior.clear();
    const std::vector<JournalRecord> whole = moved_session(began, stretch);
    const std::vector<RepId> reps = reps_in(stretch);
    std::vector<JournalRecord>& made = journals_[moved.in];
    const std::size_t there = std::min(made.size(), whole.size());
    if (there < whole.size()) {
        stores_.append(moved.in, std::span(whole).subspan(there));
        made.insert(made.end(), whole.begin() + static_cast<std::ptrdiff_t>(there), whole.end());
        ended_.insert(moved.in);
        keep_results(moved.in);
    }
    Score score;
    std::vector<ScoreResult> results;
    for (const JournalRecord& record : journals_.at(moved.session)) score.fold(record, results);
    std::vector<JournalEvent> voids;
    for (const RepResult& rep : score.reps())
        if (rep.void_reason != VoidReason::coach && rep.void_reason != VoidReason::other_athlete &&
            std::find(reps.begin(), reps.end(), rep.rep) != reps.end())
            voids.emplace_back(RepVoided{rep.rep, VoidReason::other_athlete});
    if (voids.empty()) return;
    add(moved.session, std::move(voids));
    keep_results(moved.session);
}

Expected<CutEvening> Reader::read() {
    if (const auto read = read_evening(); !read) return tl::make_unexpected(read.error());
    if (const auto read = read_sessions(); !read) return tl::make_unexpected(read.error());
    for (const SetMoved& moved : moves_) finish_move(moved);
    // Said to be another's, and cut before its end: what was made of it is that one's all the same.
    std::optional<Move> under_way;
    if (state_.rig == AtRig::running && state_.made_by)
        under_way = Move{state_.session, state_.set, state_.at_rig, *state_.made_by};
    std::vector<SessionId> open;
    for (const Person& each : state_.people)
        if (each.session && journals_.contains(*each.session)) open.push_back(*each.session);
    for (const SessionId id : open) {
        tell_what_is_untold(id);
        if (ended_.contains(id)) continue;
        add(id, to_stand_aside(journals_.at(id)));
        keep_results(id);
    }
    if (under_way && journals_.contains(under_way->session)) {
        const auto stretch = last_stretch(journals_.at(under_way->session));
        if (!stretch.empty()) {
            const SetMoved moved{under_way->session,     under_way->set,           under_way->to,
                                 going_.fresh_session(), stretch.front().position, stretch.back().position};
            tell(moved);
            finish_move(moved);
        }
    }
    for (const SessionId id : open)
        if (!ended_.contains(id)) cut_.sessions.push_back(journals_.at(id));
    if (const auto boot = newest_.last_boot()) cut_.known = newest_.of(*boot);
    return std::move(cut_);
}

}  // namespace

Expected<CutEvening> read_cut_evening(EveningStores& stores, const GoingOn& going) {
    return Reader(stores, going).read();
}

}  // namespace breakstep
