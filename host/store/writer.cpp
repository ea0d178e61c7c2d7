#include "store/writer.hpp"

#include <sqlite3.h>

#include <algorithm>
#include <chrono>
#include <cstdio>
#include <string>
#include <utility>

#include "store/database.hpp"

namespace breakstep {
namespace {

// Under load commits are this far apart; the first after a silence is at once.
constexpr auto gather_time = std::chrono::milliseconds(20);
constexpr auto retry_time = std::chrono::milliseconds(200);

std::uint64_t key(SessionId session) { return static_cast<std::uint64_t>(session); }

std::size_t size_of(const RepResult& result) {
    return sizeof(Job) + result.later_contacts.size() * sizeof(Duration) + result.phases.size() * sizeof(AttackPhase);
}
std::size_t size_of(const SessionTotals& totals) { return sizeof(Job) + totals.sign_reason.size(); }

// What a waiting job counts for in the backlog.
std::size_t size_of(const Job& job) {
    if (const auto* batch = std::get_if<RecordBatch>(&job))
        return sizeof(Job) + batch->bytes.size() + batch->entries.size() * sizeof(RecordBatch::Entry);
    if (const auto* rep = std::get_if<KeptRep>(&job)) return size_of(rep->result);
    return size_of(std::get<KeptTotals>(job).totals);
}

std::int64_t items_in(const Job& job) {
    const auto* batch = std::get_if<RecordBatch>(&job);
    return batch != nullptr ? static_cast<std::int64_t>(batch->entries.size()) : 1;
}

SessionId session_of(const Job& job) {
    return std::visit([](const auto& kept) { return kept.session; }, job);
}

// A fault of the data itself: trying again can't help.
bool is_hopeless(const std::exception& problem) {
    const auto* from_sqlite = dynamic_cast<const SQLite::Exception*>(&problem);
    if (from_sqlite == nullptr) return true;
    const int code = from_sqlite->getErrorCode();
    return code == SQLITE_CONSTRAINT || code == SQLITE_TOOBIG || code == SQLITE_MISMATCH;
}

}  // namespace

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

// ---- the callers' side ----------------------------------------------------------------------------------------------

void Writer::append(SessionId session, std::span<const JournalRecord> records) {
    if (records.empty()) return;
    {
        const std::lock_guard lock(mutex_);
        Progress& progress = progress_of(session, records.front().position);
        take_records(session, progress, records);
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
    const auto found = sessions_.find(key(session));
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
    const auto [found, is_new] = sessions_.try_emplace(key(session));
    Progress& progress = found->second;
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

void Writer::take_records(SessionId session, Progress& progress, std::span<const JournalRecord> records) {
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
    for (const JournalRecord& record : records) {
        encode(record.event, batch.bytes);
        batch.entries.push_back({kind_of(record.event), record.recorded, batch.bytes.size()});
    }
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
    for (const JournalRecord& record : records) {
        if (const auto* began = std::get_if<SessionBegan>(&record.event))
            batch.began = std::make_unique<SessionBegan>(*began);
        if (const auto* ended = std::get_if<SessionEnded>(&record.event)) batch.ended = ended->how;
    }
    progress.next += count;
    waiting_records_ += count;
    wake_writer();
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
        if (const auto found = sessions_.find(key(session)); found != sessions_.end()) found->second.refused = why;
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

// ---- the writing side -----------------------------------------------------------------------------------------------

void Writer::loop() {
    bool going_on = true;
    while (going_on) {
        going_on = wait_for_work();
        std::deque<Request> requests;
        {
            const std::lock_guard lock(mutex_);
            requests.swap(requests_);
        }
        for (Request& request : requests) request.done.set_value(carry_out(request.work));
        write_waiting();
    }
}

// False when the writer is to stop after what waits now.
bool Writer::wait_for_work() {
    std::unique_lock lock(mutex_);
    const auto urgent = [this] { return stopping_ || flush_wanted_ || !requests_.empty(); };
    idle_ = true;
    work_.wait(lock, [&] { return urgent() || unsaved_items_ > 0; });
    idle_ = false;
    // Let records gather; or, after a failure, give the disk time.
    work_.wait_until(lock, next_attempt_, urgent);
    flush_wanted_ = false;
    return !stopping_;
}

void Writer::write_waiting() {
    {
        const std::lock_guard lock(mutex_);
        if (held_.empty())
            held_.swap(queue_);
        else
            for (Job& job : queue_) hold(std::move(job));
        queue_.clear();
    }
    while (!held_.empty() && !write_held()) {
        const std::lock_guard lock(mutex_);
        if (trouble_) break;
    }
    const std::lock_guard lock(mutex_);
    settled_.notify_all();
}

// Puts a job behind those held; records that go on where the last ones ended join them. With mutex_ held.
void Writer::hold(Job job) {
    auto* batch = std::get_if<RecordBatch>(&job);
    auto* last = held_.empty() ? nullptr : std::get_if<RecordBatch>(&held_.back());
    if (batch == nullptr || last == nullptr || last->session != batch->session) {
        held_.push_back(std::move(job));
        return;
    }
    const std::size_t bytes_before = last->bytes.size();
    last->bytes += batch->bytes;
    for (RecordBatch::Entry& entry : batch->entries) {
        entry.end += bytes_before;
        last->entries.push_back(entry);
    }
    if (batch->began) last->began = std::move(batch->began);
    if (batch->ended) last->ended = batch->ended;
    waiting_bytes_ -= sizeof(Job);
}

// One transaction with everything held. False if it was rolled back.
bool Writer::write_held() {
    const auto began = std::chrono::steady_clock::now();
    const Job* at = nullptr;
    try {
        ledger_->begin();
        for (const Job& job : held_) {
            at = &job;
            ledger_->write(job);
        }
        at = nullptr;
        ledger_->commit();
    } catch (const std::exception& problem) {
        settle_failure(problem, at);
        return false;
    }
    {
        const std::lock_guard lock(mutex_);
        next_attempt_ = began + gather_time;
    }
    settle_committed();
    return true;
}

void Writer::settle_committed() {
    {
        const std::lock_guard lock(mutex_);
        ++counters_.commits;
        for (const Job& job : held_) {
            waiting_bytes_ -= size_of(job);
            unsaved_items_ -= items_in(job);
            done_ += items_in(job);
            if (const auto* batch = std::get_if<RecordBatch>(&job)) {
                const auto count = static_cast<std::int64_t>(batch->entries.size());
                if (count > 0) sessions_[key(batch->session)].committed = batch->first_position + count - 1;
                counters_.records_committed += count;
                waiting_records_ -= count;
            } else if (std::holds_alternative<KeptRep>(job)) {
                ++counters_.reps_committed;
            }
        }
        trouble_.reset();
    }
    held_.clear();
    tell();
}

void Writer::settle_failure(const std::exception& problem, const Job* at) {
    Error error = store_error(problem, path_, "written", last_system_reason(ledger_->database()));
    ledger_->roll_back();
    if (at != nullptr && is_hopeless(problem)) {
        drop_job(at, std::move(error));
    } else {
        const std::lock_guard lock(mutex_);
        ++counters_.failed_attempts;
        trouble_ = std::move(error);
        next_attempt_ = std::chrono::steady_clock::now() + retry_time;
    }
    tell();
}

// Takes a job that can never be written out of the way, with all that is waiting of its session, so that the rest goes
// on.
void Writer::drop_job(const Job* job, Error why) {
    const SessionId session = session_of(*job);
    const bool whole_session = std::holds_alternative<RecordBatch>(*job);
    const std::lock_guard lock(mutex_);
    if (whole_session) sessions_[key(session)].refused = why;
    refusal_ = std::move(why);
    std::erase_if(held_, [&](const Job& other) {
        if (&other != job && !(whole_session && session_of(other) == session)) return false;
        waiting_bytes_ -= size_of(other);
        unsaved_items_ -= items_in(other);
        done_ += items_in(other);
        if (std::holds_alternative<RecordBatch>(other)) {
            counters_.records_refused += items_in(other);
            waiting_records_ -= items_in(other);
        } else {
            ++counters_.reps_refused;
        }
        return true;
    });
}

Expected<void> Writer::carry_out(const std::function<void(SQLite::Database&)>& work) {
    Expected<void> result = guarded(path_, "written", [&] { work(ledger_->database()); });
    // Whatever it began and did not end; and it may have removed sessions whose numbers the ledger remembers.
    ledger_->roll_back();
    return result;
}

void Writer::tell() const {
    if (options_.on_committed) options_.on_committed();
}

}  // namespace breakstep
