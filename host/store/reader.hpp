// Reads the store through a connection of its own, beside the writer. Internal to host/store.
//
// Any thread; one at a time gets in, and a callback may read again from the same thread. Each function sees what was
// committed when it began. Fails as Store's reading functions say.
#pragma once

#include <filesystem>
#include <functional>
#include <mutex>
#include <optional>

#include <SQLiteCpp/SQLiteCpp.h>

#include "store/database.hpp"
#include "store/store.hpp"
#include "store/sums.hpp"

namespace breakstep {

class Reader {
  public:
    explicit Reader(std::filesystem::path path);

    /// Opens the connection now, so that a wrong file is told at once.
    [[nodiscard]] Expected<void> open();
    /// Until the next reading.
    void close();
    [[nodiscard]] Expected<std::int64_t> last_position(SessionId session);
    [[nodiscard]] Expected<std::vector<SessionSummary>> sessions();
    [[nodiscard]] Expected<std::int64_t> raw_records(SessionId session,
                                                     const std::function<void(const Store::RawRecord&)>& each,
                                                     std::int64_t from = 0);
    [[nodiscard]] Expected<std::int64_t> records(SessionId session,
                                                 const std::function<void(const JournalRecord&)>& each);
    [[nodiscard]] Expected<std::optional<EveningSummary>> last_evening();
    [[nodiscard]] Expected<std::int64_t> evening_records(
        EveningId evening, const std::function<void(const evening::EveningRecord&)>& each);
    [[nodiscard]] Expected<std::vector<RepResult>> reps(SessionId session);
    [[nodiscard]] Expected<std::int64_t> all_reps(const std::function<void(SessionId, const RepResult&)>& each);
    [[nodiscard]] Expected<std::optional<SessionTotals>> totals(SessionId session);
    [[nodiscard]] Expected<std::vector<TermSession>> term_sessions();
    [[nodiscard]] Expected<std::int64_t> rep_facts(
        const std::function<void(std::int64_t number, const progress::RepFact&)>& each);
    [[nodiscard]] Expected<std::vector<Athlete>> athletes();
    [[nodiscard]] Expected<std::optional<Athlete>> find_athlete(std::string_view call_sign);
    [[nodiscard]] Expected<std::vector<Measure>> measures();
    [[nodiscard]] Expected<std::vector<BackupNote>> backups();
    [[nodiscard]] Expected<std::vector<std::filesystem::path>> folders_made_in();
    [[nodiscard]] Expected<std::vector<Calibration>> calibrations();
    [[nodiscard]] Expected<std::vector<SessionState>> session_states();
    [[nodiscard]] Expected<ClubNotes> club_notes();
    [[nodiscard]] Expected<void> integrity();
    [[nodiscard]] Expected<sums::Changed> changed();
    /// Numbers of sessions that have neither ended nor sums.
    [[nodiscard]] Expected<std::vector<std::int64_t>> cut_off();
    [[nodiscard]] Expected<void> copy_to(const std::filesystem::path& copy);

  private:
    template <class Work>
    [[nodiscard]] auto with_connection(Work&& work) -> Expected<decltype(work())> {
        const std::lock_guard lock(mutex_);
        if (const Expected<void> opened = open(); !opened) return tl::make_unexpected(opened.error());
        return guarded(path_, "read", std::forward<Work>(work));
    }

    const std::filesystem::path path_;
    std::recursive_mutex mutex_;
    std::optional<SQLite::Database> database_;
};

}  // namespace breakstep
