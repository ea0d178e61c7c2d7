#include "store/ledger.hpp"

#include <utility>

#include "store/sums.hpp"
#include "store/whole_rows.hpp"

namespace breakstep {
namespace {

using columns::Binder;

// A statement is ready for its next use whether its step threw or not.
class Use {
  public:
    explicit Use(SQLite::Statement& statement) : statement_(statement) {}
    ~Use() { statement_.tryReset(); }
    Use(const Use&) = delete;
    Use& operator=(const Use&) = delete;

  private:
    SQLite::Statement& statement_;
};

}  // namespace

SessionSummary summary_of(const SessionBegan& began) {
    SessionSummary summary;
    summary.id = began.session;
    if (began.athlete != AthleteId{}) summary.athlete = began.athlete;
    summary.began_unix_seconds = began.unix_seconds;
    summary.drill = began.drill.name;
    summary.start = began.drill.start;
    summary.stance = began.drill.stance;
    summary.level = began.drill.level;
    summary.test = began.drill.test;
    summary.athlete_lead = began.athlete_lead;
    summary.seed = began.seed;
    return summary;
}

Ledger::Ledger(SQLite::Database database)
    : database_(std::move(database)),
      begin_(database_, "BEGIN IMMEDIATE"),
      commit_(database_, "COMMIT"),
      find_session_(database_, "SELECT number FROM sessions WHERE id = ?"),
      make_session_(database_, "INSERT INTO sessions (id) VALUES (?) RETURNING number"),
      make_athlete_(database_, "INSERT OR IGNORE INTO athletes (id, added_unix_s) VALUES (?, ?)"),
      begin_session_(database_, begin_session_sql()),
      end_session_(database_, "UPDATE sessions SET how = ? WHERE number = ?"),
      add_event_(database_, "INSERT INTO events (session, position, kind, recorded_ns, bytes) VALUES (?, ?, ?, ?, ?)"),
      put_rep_(database_, put_rep_sql()),
      put_totals_(database_, put_totals_sql()) {}

void Ledger::begin() {
    const Use use(begin_);
    begin_.exec();
}

void Ledger::commit() {
    renew_sums();
    const Use use(commit_);
    commit_.exec();
}

void Ledger::roll_back() noexcept {
    // Numbers given out in this transaction are gone with it.
    numbers_.clear();
    summed_.clear();
    touched_.clear();
    athletes_touched_ = false;
    database_.tryExec("ROLLBACK");
}

// A session that is still running has none: it is not read for one at each commit.
void Ledger::renew_sums() {
    for (const std::int64_t number : touched_) {
        const auto [known, is_new] = summed_.try_emplace(number, false);
        if (is_new) known->second = sums::is_to_have_one(database_, number);
        if (known->second) sums::renew_session(database_, number);
    }
    touched_.clear();
    if (std::exchange(athletes_touched_, false)) sums::renew(database_, sums::Table::athletes);
}

void Ledger::write(const Job& job) {
    std::visit([this](const auto& kept) { write(kept); }, job);
}

// Seldom: some hundred rows an evening, so that its statements are made anew.
void Ledger::write_evening(const RecordBatch& batch) {
    SQLite::Statement make(database_, "INSERT OR IGNORE INTO evenings (id) VALUES (?)");
    Binder(make).put(batch.session);
    make.exec();
    SQLite::Statement change(database_,
                             "UPDATE evenings SET began_unix_s = CASE WHEN ?1 <> 0 THEN ?1 ELSE began_unix_s END, "
                             "ended = max(ended, ?2) WHERE id = ?3");
    Binder changed(change);
    changed.put(batch.evening_began_unix_seconds);
    changed.put(batch.evening_ended);
    changed.put(batch.session);
    change.exec();
    SQLite::Statement add(database_,
                          "INSERT INTO evening_events (evening, position, kind, at_ns, athlete, bytes) VALUES ((SELECT "
                          "number FROM evenings WHERE id = ?), ?, ?, ?, ?, ?)");
    std::size_t begin = 0;
    for (std::size_t i = 0; i < batch.entries.size(); ++i) {
        const RecordBatch::Entry& entry = batch.entries[i];
        Binder binder(add);
        binder.put(batch.session);
        binder.put(batch.first_position + static_cast<std::int64_t>(i));
        binder.put(entry.kind);
        binder.put(entry.recorded.time_since_epoch());
        binder.put(entry.athlete);
        binder.put_blob(std::string_view(batch.bytes).substr(begin, entry.end - begin));
        add.exec();
        add.reset();
        begin = entry.end;
    }
}

void Ledger::write(const RecordBatch& batch) {
    if (batch.of_evening) return write_evening(batch);
    const std::int64_t session = number_of(batch.session);
    if (batch.began) write_began(*batch.began);
    std::size_t begin = 0;
    for (std::size_t i = 0; i < batch.entries.size(); ++i) {
        const RecordBatch::Entry& entry = batch.entries[i];
        const Use use(add_event_);
        Binder binder(add_event_);
        binder.put(session);
        binder.put(batch.first_position + static_cast<std::int64_t>(i));
        binder.put(entry.kind);
        binder.put(entry.recorded.time_since_epoch());
        binder.put_blob(std::string_view(batch.bytes).substr(begin, entry.end - begin));
        add_event_.exec();
        begin = entry.end;
    }
    if (batch.ended) {
        const Use use(end_session_);
        Binder binder(end_session_);
        binder.put(*batch.ended);
        binder.put(session);
        end_session_.exec();
        summed_[session] = true;
    }
}

void Ledger::write(const KeptRep& kept) {
    const Use use(put_rep_);
    Binder binder(put_rep_);
    binder.put(number_of(kept.session));
    columns::visit_rep(kept.result, binder);
    put_rep_.exec();
}

void Ledger::write(const KeptTotals& kept) {
    const Use use(put_totals_);
    Binder binder(put_totals_);
    binder.put(number_of(kept.session));
    columns::visit_totals(kept.totals, binder);
    put_totals_.exec();
}

void Ledger::write_began(const SessionBegan& began) {
    if (began.athlete != AthleteId{}) {
        // An athlete the table does not know yet is one known by its id alone: a session is never refused for that.
        const Use use(make_athlete_);
        Binder binder(make_athlete_);
        binder.put(began.athlete);
        binder.put(began.unix_seconds);
        athletes_touched_ = make_athlete_.exec() > 0 || athletes_touched_;
    }
    const Use use(begin_session_);
    Binder binder(begin_session_);
    const SessionSummary summary = summary_of(began);
    columns::visit_session(summary, binder);
    binder.put(number_of(began.session));
    begin_session_.exec();
}

std::int64_t Ledger::number_of(SessionId session) {
    const auto id = static_cast<std::uint64_t>(session);
    if (const auto known = numbers_.find(id); known != numbers_.end()) {
        touched_.insert(known->second);
        return known->second;
    }
    std::int64_t number = 0;
    {
        const Use use(find_session_);
        Binder(find_session_).put(session);
        if (find_session_.executeStep()) number = find_session_.getColumn(0).getInt64();
    }
    if (number == 0) {
        const Use use(make_session_);
        Binder(make_session_).put(session);
        (void)make_session_.executeStep();
        number = make_session_.getColumn(0).getInt64();
    }
    numbers_.emplace(id, number);
    touched_.insert(number);
    return number;
}

}  // namespace breakstep
