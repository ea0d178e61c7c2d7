// A journal in memory, for captures and tests: what the store would keep, as values.
//
// Owned by whoever looks into it; one thread at a time. By default a record is committed as it is appended; with
// commit_by_hand nothing is until commit(), as on a slow disk. It never fails by itself; fail() makes it say so.
#pragma once

#include <map>
#include <utility>
#include <vector>

#include "core/evening/evening_events.hpp"
#include "core/score/journal.hpp"

namespace breakstep {

class MemoryJournal final : public Journal {
  public:
    struct Session {
        std::vector<JournalRecord> records;
        std::map<std::int32_t, RepResult> reps;  ///< by rep
        std::optional<SessionTotals> totals;
        std::int64_t committed = -1;
        std::int64_t refused = 0;  ///< records out of order: a fault of the caller
    };

    explicit MemoryJournal(bool commit_by_hand = false) : commit_by_hand_(commit_by_hand) {}

    void append(SessionId session, std::span<const JournalRecord> records) override {
        Session& kept = sessions_[session];
        for (const JournalRecord& record : records) {
            if (kept.refused > 0 || record.position != static_cast<std::int64_t>(kept.records.size())) {
                ++kept.refused;
                failure_ = Error{ErrorKind::system, "a session's records came out of order", "report this"};
            } else {
                kept.records.push_back(record);
            }
        }
        if (!commit_by_hand_) commit();
    }
    void append_evening(EveningId evening, std::span<const evening::EveningRecord> records) override {
        std::vector<evening::EveningRecord>& kept = evenings_[evening];
        kept.insert(kept.end(), records.begin(), records.end());
    }
    void keep(SessionId session, const RepResult& result) override {
        sessions_[session].reps.insert_or_assign(static_cast<std::int32_t>(result.rep), result);
    }
    void keep_totals(SessionId session, const SessionTotals& totals) override { sessions_[session].totals = totals; }
    [[nodiscard]] std::int64_t committed(SessionId session) const override {
        if (const auto night = evenings_.find(static_cast<EveningId>(session)); night != evenings_.end())
            return static_cast<std::int64_t>(night->second.size()) - 1;
        const auto found = sessions_.find(session);
        return found == sessions_.end() ? -1 : found->second.committed;
    }
    [[nodiscard]] std::optional<Error> failure() const override { return failure_; }

    /// Everything so far is committed, unless the journal was made to fail.
    void commit() {
        if (failing_) return;
        for (auto& [id, session] : sessions_) session.committed = static_cast<std::int64_t>(session.records.size()) - 1;
    }
    /// From now on nothing is committed, and failure() says why; null: all is well again.
    void fail(std::optional<Error> why) {
        failing_ = why.has_value();
        failure_ = std::move(why);
    }
    [[nodiscard]] const std::map<SessionId, Session>& sessions() const { return sessions_; }
    [[nodiscard]] const std::map<EveningId, std::vector<evening::EveningRecord>>& evenings() const { return evenings_; }

  private:
    bool commit_by_hand_ = false;
    bool failing_ = false;
    std::map<SessionId, Session> sessions_;
    std::map<EveningId, std::vector<evening::EveningRecord>> evenings_;
    std::optional<Error> failure_;
};

}  // namespace breakstep
