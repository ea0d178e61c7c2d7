// The callers' side of the writer: taking, bounding, counting. The writing thread's side is in writer_thread.cpp.
#include "store/writer.hpp"

#include <algorithm>
#include <chrono>
#include <cstdio>
#include <string>
#include <utility>

#include "core/evening/evening_events.hpp"
#include "store/database.hpp"

namespace breakstep {

Writer::Writer(std::filesystem::path path, StoreOptions options, std::unique_ptr<Ledger> ledger,
               std::function<Expected<std::int64_t>(SessionId)> last_on_disk)
    : path_(std::move(path)),
      options_(std::move(options)),
      last_on_disk_(std::move(last_on_disk)),
      ledger_(std::move(ledger)) {
    if (options_.mode == StoreMode::own_thread) thread_ = std::thread([this] { loop(); });
}

Writer::~Writer() {
    if (const Expected<void> closed = close(); !closed)
        std::fprintf(stderr, "breakstep: %s\n", closed.error().text().c_str());
}

template <class Record, class Put>
void Writer::take_records(SessionId session, Progress& progress, std::span<const Record> records, Put put) {
    const auto count = static_cast<std::int64_t>(records.size());
    for (std::int64_t i = 0; i < count && !progress.refused; ++i) {
        const std::int64_t position = records[static_cast<std::size_t>(i)].position;
        if (position != progress.next + i) {
            progress.refused = Error{ErrorKind::system,
                                     "a session's record " + std::to_string(position) + " came where record " +
                                         std::to_string(progress.next + i) + " belongs: this is a fault of the program",
                                     "report it together with the store; what came before is kept"};
        }
    }
    if (progress.refused) {
        refusal_ = progress.refused;
        counters_.records_refused += count;
        return;
    }
    const std::size_t jobs_before = queue_.size();
    RecordBatch& batch = batch_for(session, records.front().position);
    const std::size_t bytes_before = batch.bytes.size(), entries_before = batch.entries.size();
    // What a batch that can't be taken says of its session's begin and end is said again by nobody: only its rows
    // count.
    for (const Record& record : records) put(record, batch);
    const std::size_t cost = batch.bytes.size() - bytes_before + records.size() * sizeof(RecordBatch::Entry) +
                             (queue_.size() - jobs_before) * sizeof(Job);
    if (!take_room(cost, count)) {
        batch.bytes.resize(bytes_before);
        batch.entries.resize(entries_before);
        queue_.resize(jobs_before);
        progress.refused = refusal_;
        counters_.records_refused += count;
        return;
    }
    progress.next += count;
    waiting_records_ += count;
    wake_writer();
}

// ---- the callers' side ----------------------------------------------------------------------------------------------

void Writer::append(SessionId session, std::span<const JournalRecord> records) {
    if (records.empty()) return;
    {
        const std::lock_guard lock(mutex_);
        Progress& progress = progress_of(session, records.front().position);
        take_records(session, progress, records, [](const JournalRecord& record, RecordBatch& batch) {
            encode(record.event, batch.bytes);
            batch.entries.push_back({kind_of(record.event), record.recorded, batch.bytes.size(), {}});
            if (const auto* began = std::get_if<SessionBegan>(&record.event))
                batch.began = std::make_unique<SessionBegan>(*began);
            if (const auto* ended = std::get_if<SessionEnded>(&record.event)) batch.ended = ended->how;
        });
    }
    after_append();
}

void Writer::append_evening(EveningId night, std::span<const evening::EveningRecord> records) {
    if (records.empty()) return;
    const auto number = static_cast<SessionId>(night);
    {
        const std::lock_guard lock(mutex_);
        Progress& progress = progress_of(number, records.front().position);
        take_records(number, progress, records, [](const evening::EveningRecord& record, RecordBatch& batch) {
            batch.of_evening = true;
            encode(record.event, batch.bytes);
            batch.entries.push_back(
                {kind_of(record.event), HostTime(record.at), batch.bytes.size(), athlete_of(record.event)});
            if (const auto* began = std::get_if<evening::EveningBegan>(&record.event))
                batch.evening_began_unix_seconds = began->unix_seconds;
            if (std::holds_alternative<evening::EveningEnded>(record.event)) batch.evening_ended = true;
        });
    }
    after_append();
}

void Writer::keep(SessionId session, const RepResult& result) {
    {
        const std::lock_guard lock(mutex_);
        if (!take_room(size_of(result), 1)) {
            ++counters_.reps_refused;
            return;
        }
        queue_.emplace_back(KeptRep{session, result});
        wake_writer();
    }
    after_append();
}

void Writer::keep_totals(SessionId session, const SessionTotals& totals) {
    {
        const std::lock_guard lock(mutex_);
        if (!take_room(size_of(totals), 1)) {
            ++counters_.reps_refused;
            return;
        }
        queue_.emplace_back(KeptTotals{session, totals});
        wake_writer();
    }
    after_append();
}

std::optional<std::int64_t> Writer::committed(SessionId session) const {
    const std::lock_guard lock(mutex_);
    const auto found = sessions_.find(session);
    if (found == sessions_.end()) return std::nullopt;
    return found->second.committed;
}

std::optional<Error> Writer::failure() const {
    const std::lock_guard lock(mutex_);
    return trouble_ ? trouble_ : refusal_;
}

Backlog Writer::backlog() const {
    const std::lock_guard lock(mutex_);
    return {waiting_bytes_, options_.queue_bytes_max, waiting_records_};
}

StoreCounters Writer::counters() const {
    const std::lock_guard lock(mutex_);
    return counters_;
}

Writer::Progress& Writer::progress_of(SessionId session, std::int64_t first_position) {
    const auto [found, is_new] = sessions_.try_emplace(session);
    Progress& progress = found->second;
    if (is_new && first_position == 0) refusal_.reset();
    if (!is_new || first_position == 0) return progress;
    // A session that goes on from an earlier opening of the store.
    const Expected<std::int64_t> last = last_on_disk_(session);
    if (!last) {
        progress.refused = last.error();
        return progress;
    }
    progress.committed = *last;
    progress.next = *last + 1;
    return progress;
}

RecordBatch& Writer::batch_for(SessionId session, std::int64_t first_position) {
    if (!queue_.empty()) {
        auto* last = std::get_if<RecordBatch>(&queue_.back());
        if (last != nullptr && last->session == session) return *last;
    }
    RecordBatch& batch = std::get<RecordBatch>(queue_.emplace_back(RecordBatch{}));
    batch.session = session;
    batch.first_position = first_position;
    return batch;
}

bool Writer::take_room(std::size_t bytes, std::int64_t items) {
    if (closed_ || waiting_bytes_ + bytes > options_.queue_bytes_max) {
        const std::string why = closed_ ? "it is closed" : trouble_ ? trouble_->what : "the disk is too slow";
        refusal_ =
            Error{trouble_ ? trouble_->kind : ErrorKind::system,
                  "records are no longer kept, since too many wait to be written to " + path_.string() + ": " + why,
                  "end the session, then see to the disk; what was taken before is still held"};
        return false;
    }
    waiting_bytes_ += bytes;
    unsaved_items_ += items;
    taken_ += items;
    counters_.backlog_bytes_peak = std::max(counters_.backlog_bytes_peak, waiting_bytes_);
    return true;
}

void Writer::refuse(std::span<const SessionId> sessions, const Error& why) {
    const std::lock_guard lock(mutex_);
    for (const SessionId session : sessions)
        if (const auto found = sessions_.find(session); found != sessions_.end()) found->second.refused = why;
}

void Writer::wake_writer() {
    if (idle_) work_.notify_one();
}

void Writer::after_append() {
    if (options_.mode != StoreMode::inline_writes) return;
    {
        const std::lock_guard lock(mutex_);
        if (closed_ || unsaved_items_ < options_.inline_commit_records) return;
        if (trouble_ && std::chrono::steady_clock::now() < next_attempt_) return;
    }
    write_waiting();
}

Expected<void> Writer::flush() {
    if (options_.mode == StoreMode::inline_writes && !closed_) {
        write_waiting();
        const std::lock_guard lock(mutex_);
        if (trouble_) return tl::make_unexpected(*trouble_);
        return {};
    }
    std::unique_lock lock(mutex_);
    const std::int64_t target = taken_;
    const std::int64_t failed_before = counters_.failed_attempts;
    flush_wanted_ = true;
    work_.notify_one();
    settled_.wait(lock, [&] { return done_ >= target || counters_.failed_attempts > failed_before || closed_; });
    if (done_ >= target) return {};
    if (trouble_) return tl::make_unexpected(*trouble_);
    return breakstep::failure(ErrorKind::system, "the store " + path_.string() + " was closed meanwhile", "");
}

Expected<void> Writer::close() {
    {
        const std::lock_guard lock(mutex_);
        if (closed_) return {};
        stopping_ = true;
        work_.notify_one();
    }
    if (thread_.joinable())
        thread_.join();
    else
        write_waiting();
    // Ending the connection brings the write-ahead log home, which may take a while: before the lock.
    ledger_.reset();
    const std::lock_guard lock(mutex_);
    closed_ = true;
    settled_.notify_all();
    if (unsaved_items_ == 0) return {};
    counters_.records_refused += waiting_records_;
    counters_.reps_refused += unsaved_items_ - waiting_records_;
    const std::int64_t lost = std::exchange(unsaved_items_, 0);
    waiting_records_ = 0;
    waiting_bytes_ = 0;
    held_.clear();
    queue_.clear();
    return breakstep::failure(trouble_ ? trouble_->kind : ErrorKind::system,
                              std::to_string(lost) + " records and results could not be saved: " +
                                  (trouble_ ? trouble_->what : "the store was closed"),
                              "see to the disk before the next session; everything saved before is kept");
}

Expected<void> Writer::run(std::function<void(SQLite::Database&)> work) {
    if (options_.mode == StoreMode::inline_writes) {
        if (closed_) return breakstep::failure(ErrorKind::system, "the store " + path_.string() + " is closed", "");
        return carry_out(work);
    }
    std::future<Expected<void>> done;
    {
        const std::lock_guard lock(mutex_);
        if (stopping_) return breakstep::failure(ErrorKind::system, "the store " + path_.string() + " is closed", "");
        Request& request = requests_.emplace_back();
        request.work = std::move(work);
        done = request.done.get_future();
        work_.notify_one();
    }
    return done.get();
}

}  // namespace breakstep
