// The store's queue and its writer: takes records from the engine's thread, groups them into transactions, holds them
// back while the disk is full, and counts what it must refuse. Internal to host/store; the manners are store.hpp's.
//
// Owned by Store. With own_thread it runs a thread of its own; inline, the caller's thread writes.
#pragma once

#include <condition_variable>
#include <cstdint>
#include <deque>
#include <functional>
#include <future>
#include <mutex>
#include <optional>
#include <span>
#include <thread>
#include <unordered_map>
#include <vector>

#include "store/job.hpp"
#include "store/ledger.hpp"
#include "store/store.hpp"

namespace breakstep {

class Writer {
  public:
    /// `last_on_disk` tells a session's last position in the store, -1 for none; asked for sessions that go on from an
    /// earlier opening.
    Writer(std::filesystem::path path, StoreOptions options, std::unique_ptr<Ledger> ledger,
           std::function<Expected<std::int64_t>(SessionId)> last_on_disk);
    ~Writer();

    void append(SessionId session, std::span<const JournalRecord> records);
    void append_evening(EveningId evening, std::span<const evening::EveningRecord> records);
    void keep(SessionId session, const RepResult& result);
    void keep_totals(SessionId session, const SessionTotals& totals);
    /// Null for a session this writer has not seen.
    [[nodiscard]] std::optional<std::int64_t> committed(SessionId session) const;
    [[nodiscard]] std::optional<Error> failure() const;
    [[nodiscard]] Backlog backlog() const;
    [[nodiscard]] StoreCounters counters() const;

    [[nodiscard]] Expected<void> flush();
    [[nodiscard]] Expected<void> close();
    /// Runs `work` on the writer's connection, outside a transaction, before whatever waits; returns when it is done.
    [[nodiscard]] Expected<void> run(std::function<void(SQLite::Database&)> work);
    /// From now on nothing more is taken for these sessions.
    void refuse(std::span<const SessionId> sessions, const Error& why);

  private:
    struct Progress {
        std::int64_t next = 0;         ///< the position append() must bring
        std::int64_t committed = -1;   ///< on the disk
        std::optional<Error> refused;  ///< why nothing more of it is taken
    };
    struct Request {
        std::function<void(SQLite::Database&)> work;
        std::promise<Expected<void>> done;
    };

    // With mutex_ held.
    Progress& progress_of(SessionId session, std::int64_t first_position);
    template <class Record, class Put>
    void take_records(SessionId session, Progress& progress, std::span<const Record> records, Put put);
    [[nodiscard]] RecordBatch& batch_for(SessionId session, std::int64_t first_position);
    [[nodiscard]] bool take_room(std::size_t bytes, std::int64_t items);
    void wake_writer();

    // On the writing thread, without mutex_.
    void loop();
    [[nodiscard]] bool wait_for_work();
    void write_waiting();
    void hold(Job job);
    [[nodiscard]] bool write_held();
    void settle_committed();
    void settle_failure(const std::exception& problem, const Job* at);
    void drop_job(const Job* job, Error why);
    [[nodiscard]] Expected<void> carry_out(const std::function<void(SQLite::Database&)>& work);
    void after_append();
    void tell() const;

    const std::filesystem::path path_;
    const StoreOptions options_;
    const std::function<Expected<std::int64_t>(SessionId)> last_on_disk_;
    std::unique_ptr<Ledger> ledger_;

    // The writing thread's own: taken from the queue, not yet on the disk.
    std::vector<Job> held_;

    mutable std::mutex mutex_;
    std::condition_variable work_;     ///< for the writer: something to do
    std::condition_variable settled_;  ///< for flush(): an attempt is over
    std::vector<Job> queue_;
    std::deque<Request> requests_;
    std::unordered_map<SessionId, Progress> sessions_;
    std::size_t waiting_bytes_ = 0;  ///< queued and held
    std::int64_t waiting_records_ = 0;
    std::int64_t unsaved_items_ = 0;     ///< records, reps, totals queued and held
    std::int64_t taken_ = 0, done_ = 0;  ///< items ever taken; committed or dropped
    std::optional<Error> trouble_;       ///< why the last attempt failed
    std::optional<Error> refusal_;       ///< why something was refused; until a session begins
    StoreCounters counters_;
    bool idle_ = false, flush_wanted_ = false, stopping_ = false, closed_ = false;
    std::chrono::steady_clock::time_point next_attempt_{};
    std::thread thread_;
};

}  // namespace breakstep
