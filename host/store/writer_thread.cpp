// The writing thread's side of the writer: grouping, committing, holding back. The callers' side is in writer.cpp.
#include <sqlite3.h>

#include <chrono>
#include <string>
#include <utility>

#include "store/database.hpp"
#include "store/writer.hpp"

namespace breakstep {
namespace {

// Under load commits are this far apart; the first after a silence is at once.
constexpr auto gather_time = std::chrono::milliseconds(20);
constexpr auto retry_time = std::chrono::milliseconds(200);

// A fault of the data itself: trying again can't help.
bool is_hopeless(const std::exception& problem) {
    const auto* from_sqlite = dynamic_cast<const SQLite::Exception*>(&problem);
    if (from_sqlite == nullptr) return false;
    const int code = from_sqlite->getErrorCode();
    return code == SQLITE_CONSTRAINT || code == SQLITE_TOOBIG || code == SQLITE_MISMATCH;
}

}  // namespace

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
    if (batch->evening_began_unix_seconds != 0) last->evening_began_unix_seconds = batch->evening_began_unix_seconds;
    last->evening_ended = last->evening_ended || batch->evening_ended;
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
                if (count > 0) sessions_[batch->session].committed = batch->first_position + count - 1;
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
    if (whole_session) sessions_[session].refused = why;
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
