// A journal on a disk of the swarm's own: commits take their time, the disk fills and empties, and the program can be
// killed in the middle of any call. It keeps when each record was safe, so that others can be judged by it.
//
// One thread, virtual time. Throws Killed at the call it was told, and Spins if it is asked without end.
#pragma once

#include <deque>
#include <map>
#include <optional>
#include <span>
#include <stdexcept>
#include <string>
#include <vector>

#include "core/score/journal.hpp"

namespace breakstep::swarm {

/// The program ended here.
struct Killed {};
/// A driver that no longer lets time pass.
struct Spins : std::runtime_error {
    using std::runtime_error::runtime_error;
};

class SwarmJournal final : public Journal {
  public:
    struct Session {
        SessionId id{};
        std::vector<JournalRecord> records;
        std::vector<HostTime> appended;
        std::size_t before_last = 0;  ///< records there before the newest append()
        std::map<std::int32_t, RepResult> reps;
        std::optional<SessionTotals> totals;
        std::int64_t committed = -1;
        std::vector<std::pair<HostTime, std::int64_t>> commits;  ///< what was safe from when on
        std::int64_t out_of_order = 0;
        bool cut = false;  ///< by the program's end: what was not committed is lost

        /// What another start of the program finds.
        [[nodiscard]] std::span<const JournalRecord> kept() const {
            return {records.data(), cut ? static_cast<std::size_t>(committed + 1) : records.size()};
        }
    };
    struct Failing {
        HostTime from;
        std::optional<HostTime> until;
    };

    explicit SwarmJournal(Duration commit_after) : commit_after_(commit_after) {}

    void append(SessionId session, std::span<const JournalRecord> records) override {
        count_call();
        Session& kept = of(session);
        kept.before_last = kept.records.size();
        for (const JournalRecord& record : records) {
            if (record.position != static_cast<std::int64_t>(kept.records.size())) ++kept.out_of_order;
            kept.records.push_back(record);
            kept.appended.push_back(now_);
        }
    }
    void append_evening(EveningId, std::span<const evening::EveningRecord>) override {}
    void keep(SessionId session, const RepResult& result) override {
        count_call();
        of(session).reps.insert_or_assign(static_cast<std::int32_t>(result.rep), result);
    }
    void keep_totals(SessionId session, const SessionTotals& totals) override {
        count_call();
        of(session).totals = totals;
    }
    [[nodiscard]] std::int64_t committed(SessionId session) const override {
        count_poll();
        for (const Session& each : sessions_)
            if (each.id == session) return each.committed;
        return -1;
    }
    [[nodiscard]] std::optional<Error> failure() const override {
        if (failing_.empty() || failing_.back().until) return std::nullopt;
        return Error{ErrorKind::no_space, "the disk of the swarm is full", "wait"};
    }

    /// Time has come to `now`: what was appended long enough before is safe.
    void pass(HostTime now) {
        now_ = now;
        if (failure()) return;
        for (Session& each : sessions_) {
            if (each.cut) continue;
            const std::int64_t before = each.committed;
            while (each.committed + 1 < static_cast<std::int64_t>(each.records.size()) &&
                   each.appended[static_cast<std::size_t>(each.committed + 1)] + commit_after_ <= now)
                ++each.committed;
            if (each.committed != before) each.commits.emplace_back(now, each.committed);
        }
    }
    void fail(HostTime now, bool fails) {
        pass(now);
        if (fails == failure().has_value()) return;
        if (fails)
            failing_.push_back({now, std::nullopt});
        else
            failing_.back().until = now;
    }
    void program_ended() {
        for (Session& each : sessions_) each.cut = true;
    }
    void kill_at(std::optional<std::int32_t> call) { kill_at_ = call; }

    [[nodiscard]] const std::deque<Session>& sessions() const { return sessions_; }
    [[nodiscard]] const std::vector<Failing>& failings() const { return failing_; }

  private:
    Session& of(SessionId id) {
        for (Session& each : sessions_)
            if (each.id == id) return each;
        sessions_.emplace_back();
        sessions_.back().id = id;
        return sessions_.back();
    }
    void count_call() const {
        if (kill_at_ && --*kill_at_ <= 0) throw Killed{};
    }
    void count_poll() const {
        if (polls_at_ != now_) polls_ = 0;
        polls_at_ = now_;
        if (++polls_ > 100'000) throw Spins("the driver was called 100,000 times without any time passing");
        count_call();
    }

    Duration commit_after_;
    HostTime now_{};
    std::deque<Session> sessions_;
    std::vector<Failing> failing_;
    mutable std::optional<std::int32_t> kill_at_;
    mutable HostTime polls_at_{};
    mutable std::int32_t polls_ = 0;
};

}  // namespace breakstep::swarm
