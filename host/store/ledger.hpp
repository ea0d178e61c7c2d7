// Writes journal records, reps and totals into the store's tables, in transactions. Internal to host/store.
//
// Owned by Store; used by one thread at a time (the writer's, or the caller's in inline mode). Its functions throw
// SQLite::Exception; after a throw the caller rolls back, and everything since begin() is as if it never was.
#pragma once

#include <cstdint>
#include <set>
#include <unordered_map>

#include <SQLiteCpp/SQLiteCpp.h>

#include "store/job.hpp"
#include "store/store_rows.hpp"

namespace breakstep {

/// What the sessions table says of a session that begins so.
[[nodiscard]] SessionSummary summary_of(const SessionBegan& began);

class Ledger {
  public:
    explicit Ledger(SQLite::Database database);

    void begin();
    void commit();
    /// Never throws; also right when SQLite has rolled back by itself.
    void roll_back() noexcept;

    void write(const Job& job);
    [[nodiscard]] SQLite::Database& database() { return database_; }

  private:
    void write(const RecordBatch& batch);
    void write_evening(const RecordBatch& batch);
    void write(const KeptRep& kept);
    void write(const KeptTotals& kept);
    void write_began(const SessionBegan& began);
    [[nodiscard]] std::int64_t number_of(SessionId session);
    void renew_sums();

    SQLite::Database database_;
    SQLite::Statement begin_, commit_, find_session_, make_session_, make_athlete_, begin_session_, end_session_,
        add_event_, put_rep_, put_totals_;
    std::unordered_map<std::uint64_t, std::int64_t> numbers_;
    std::unordered_map<std::int64_t, bool> summed_;  ///< sessions by number: whether they are to have sums
    std::set<std::int64_t> touched_;                 ///< since begin()
    bool athletes_touched_ = false;
};

}  // namespace breakstep
