// The store: one SQLite file that keeps every session for good. It implements Journal.
//
// Owned by the application. In StoreMode::own_thread a writer thread of its own commits what append() and keep()
// queued: the first after a silence at once, then everything that gathered, at most 20 ms apart. Each commit is on the
// disk (write-ahead log, synchronous=FULL) before committed() tells of it and on_committed is called. In
// StoreMode::inline_writes there is no thread: the caller's thread commits, for the fast driver, without waiting for
// the disk (safe against the end of the process, not against a power cut). StoreMode::read_only looks only.
//
// append(), keep(), keep_totals() never wait for the disk in own_thread mode; one thread at a time may call them. All
// else may be called by any thread.
//
// Failures: while nothing can be written (a full disk, a drive pulled out) failure() says why, records are held back in
// memory in order, and are written when the trouble is over: the writer tries every 200 ms. What is held is bounded by
// queue_bytes_max: backlog() tells how near that is, and the engine should begin no new rep while failure() says
// something. Beyond the bound the rest of the session in question is refused, counted, and told by failure() until
// another session begins, so that what is on disk is always a session's beginning without holes.
//
// One writer per store: a lock on the side file PATH.lock, which stays behind empty.
#pragma once

#include <cstddef>
#include <cstdint>
#include <filesystem>
#include <functional>
#include <memory>
#include <optional>
#include <span>
#include <string_view>
#include <vector>

#include "core/progress/facts.hpp"
#include "core/score/journal.hpp"
#include "store/club_rows.hpp"
#include "store/kept.hpp"
#include "store/store_rows.hpp"

namespace breakstep {

enum class StoreMode { own_thread, inline_writes, read_only };

struct StoreOptions {
    StoreMode mode = StoreMode::own_thread;
    /// What may wait in memory to be written, 64 KiB or more. 16 MiB hold several evenings.
    std::size_t queue_bytes_max = std::size_t{16} << 20U;
    /// inline_writes: commit by itself once so many records wait, 1 or more. Fixed numbers keep the fast driver's runs
    /// equal.
    std::int32_t inline_commit_records = 1;
    /// Make the folders that lead to the store if they are missing (for the default place; a typed one is more likely
    /// wrong).
    bool create_folders = false;
    /// Called after each commit and whenever failure() changes: on the writer's thread (own_thread) or the caller's
    /// (inline_writes), with no lock held. It must return at once and may ask committed(), failure(), backlog() and
    /// counters() only: post to the engine's queue from it.
    std::function<void()> on_committed;
};

/// What waits to be written.
struct Backlog {
    std::size_t bytes = 0, bytes_max = 0;
    std::int64_t records = 0;
};

using NextMeasure = std::function<const Measure*()>;
using MeasureTaken = std::function<Error(const Measure&)>;

/// What a verification saw.
struct Verified {
    bool remembered = false;  ///< unchanged since an earlier one; then the numbers are 0
    std::int64_t sessions = 0;
    std::int64_t sessions_without_sum = 0;  ///< kept by an earlier version, or running: read as they are
};

struct BackupMade {
    std::filesystem::path copy;  ///< absolute
    bool noted = false;          ///< in the store, so that erasing an athlete can name it
};

struct StoreCounters {
    std::int64_t commits = 0, records_committed = 0, reps_committed = 0;
    std::int64_t failed_attempts = 0;
    std::int64_t records_refused = 0;  ///< beyond the bound, out of order, unwritten at close, to a read-only store
    std::int64_t reps_refused = 0;
    std::size_t backlog_bytes_peak = 0;
};

class Store final : public Journal, public Kept {
  public:
    /// Opens or makes the store. Fails with
    /// not_found: a folder (read_only: the file) is missing; in_use: another breakstep writes to it; bad_input: a file
    /// of something else; incompatible: made by a newer breakstep (left untouched); damaged; no_space; system: not
    /// allowed, and all else.
    [[nodiscard]] static Expected<std::unique_ptr<Store>> open(const std::filesystem::path& path,
                                                               StoreOptions options = {});
    /// close(); what it could not write is told on stderr.
    ~Store() override;
    Store(const Store&) = delete;
    Store& operator=(const Store&) = delete;

    void append(SessionId session, std::span<const JournalRecord> records) override;
    void append_evening(EveningId evening, std::span<const evening::EveningRecord> records) override;
    void keep(SessionId session, const RepResult& result) override;
    void keep_totals(SessionId session, const SessionTotals& totals) override;
    [[nodiscard]] std::int64_t committed(SessionId session) const override;
    [[nodiscard]] std::optional<Error> failure() const override;

    /// Waits until everything taken so far is committed; fails if an attempt failed (it stays held and is tried again).
    [[nodiscard]] Expected<void> flush();
    /// flush(), then stops. Nothing may be appended afterwards. Fails if something could not be written, saying how
    /// much.
    [[nodiscard]] Expected<void> close();
    [[nodiscard]] Backlog backlog() const;
    [[nodiscard]] StoreCounters counters() const;
    [[nodiscard]] const std::filesystem::path& path() const;

    // ---- reading: what is committed ---------------------------------------------------------------------------------

    // As kept.hpp says; sessions() and all else that goes through sessions in the order in which this store got them,
    // but for the term's.
    [[nodiscard]] std::string place() const override;
    [[nodiscard]] Expected<std::vector<SessionSummary>> sessions() const override;
    /// By what a coach types: its number, its id in 16 hexadecimal digits, or "last". Fails (not_found) otherwise.
    [[nodiscard]] Expected<SessionSummary> find_session(std::string_view typed) const;
    [[nodiscard]] Expected<std::int64_t> read_records(
        SessionId session, const std::function<void(const JournalRecord&)>& each) const override;
    /// Without decoding: position, kind, recorded and bytes as they stand.
    struct RawRecord {
        std::int64_t position = 0;
        std::uint16_t kind = 0;
        HostTime recorded;
        std::string_view bytes;
    };
    /// From position `from` on.
    [[nodiscard]] Expected<std::int64_t> read_raw_records(SessionId session,
                                                          const std::function<void(const RawRecord&)>& each,
                                                          std::int64_t from = 0) const;
    [[nodiscard]] Expected<std::vector<RepResult>> reps(SessionId session) const override;
    /// Every rep of every session in order of sessions and reps.
    [[nodiscard]] Expected<std::int64_t> read_reps(const std::function<void(SessionId, const RepResult&)>& each) const;
    [[nodiscard]] Expected<std::optional<SessionTotals>> totals(SessionId session) const override;
    [[nodiscard]] Expected<std::vector<TermSession>> term_sessions() const override;
    [[nodiscard]] Expected<std::int64_t> read_rep_facts(
        const std::function<void(std::int64_t number, const progress::RepFact&)>& each) const override;
    [[nodiscard]] Expected<std::vector<Athlete>> athletes() const override;
    [[nodiscard]] Expected<std::optional<Athlete>> find_athlete(std::string_view call_sign) const override;
    [[nodiscard]] Expected<std::vector<Measure>> measures() const override;
    /// Copies made by backup(), oldest first, whether or not they still exist.
    [[nodiscard]] Expected<std::vector<BackupNote>> backups() const;
    /// Folders that were noted, in the order of the notes, whether or not they still exist.
    [[nodiscard]] Expected<std::vector<std::filesystem::path>> folders_made_in() const;
    /// Newest first.
    [[nodiscard]] Expected<std::vector<Calibration>> calibrations() const;
    /// Reads everything: SQLite's own check, then that positions have no holes and every event can be decoded.
    [[nodiscard]] Expected<void> check() const;
    /// Whether what stands there is what was written: SQLite's own check, and every sum (sums.hpp). `memory`, a file of
    /// this computer, remembers which stores were found whole; one that has not changed since (size, times, inode, and
    /// its write-ahead log's) is not read again. Without one it is read. Fails (damaged) naming what changed.
    [[nodiscard]] Expected<Verified> verify(const std::filesystem::path& memory = {}) const;

    /// The evening that began last; null before the first.
    [[nodiscard]] Expected<std::optional<EveningSummary>> last_evening() const;
    /// Its journal in order. Returns how many records. Fails (damaged) as read_records() does.
    [[nodiscard]] Expected<std::int64_t> read_evening(
        EveningId evening, const std::function<void(const evening::EveningRecord&)>& each) const;

    // ---- writing by the coach: committed when it returns ------------------------------------------------------------

    /// Fails (bad_input) if the id or the call-sign is taken, or a value can't be.
    [[nodiscard]] Expected<void> add_athlete(const Athlete& athlete);
    /// By id. Fails (not_found), or as add_athlete.
    [[nodiscard]] Expected<void> change_athlete(const Athlete& athlete);
    /// All of them or, if one can't be, none: fails (bad_input) as add_athlete does, or if a measure's athlete is
    /// unknown, its date none, its name or value unusable, or the athlete has a value of that measure and date already.
    [[nodiscard]] Expected<void> add_all(std::span<const Athlete> athletes, std::span<const Measure> measures);
    /// The same for many measures, of which `next` gives one after the other and at last null; `taken` says how a value
    /// that the athlete has already is told.
    [[nodiscard]] Expected<void> add_all(std::span<const Athlete> athletes, const NextMeasure& next,
                                         const MeasureTaken& taken);
    /// Whether an erasure could be thorough now. Fails (in_use) while another program holds an old state of the store.
    [[nodiscard]] Expected<void> may_erase();
    /// The athlete with all sessions, events, reps and measures, out of free pages and write-ahead log too.
    [[nodiscard]] Expected<void> erase_athlete(AthleteId id);
    /// What an erasure that was cut off left in free pages and the log.
    [[nodiscard]] Expected<void> clear_traces();
    [[nodiscard]] Expected<void> add_calibration(const Calibration& calibration);
    /// A copy of the whole store in a new file, its owner's alone, checked and on the disk when it appears; an existing
    /// file is never overwritten. Noted in the store, whoever else writes it, unless writing there is not allowed.
    [[nodiscard]] Expected<BackupMade> backup(const std::filesystem::path& copy) const;
    /// The same without a note, for copies whose place is known (daily_backup.hpp).
    [[nodiscard]] Expected<void> copy_to(const std::filesystem::path& copy) const;

    /// Notes the folder into which something of athletes is put (a report, a capture), once, so that erasing looks
    /// there. Whoever else writes the store. False where the store can't be written, or is of an older version.
    [[nodiscard]] Expected<bool> note_made_in(const std::filesystem::path& folder) const;

    // ---- clubs together (club_rows.hpp) -----------------------------------------------------------------------------

    /// In the order in which they began.
    [[nodiscard]] Expected<std::vector<SessionState>> session_states() const;
    [[nodiscard]] Expected<ClubNotes> club_notes() const;
    /// Puts athletes as they stand elsewhere, with what is known of their changes. A call-sign that another athlete has
    /// here is left away here. Fails (bad_input) for what no athlete can be.
    [[nodiscard]] Expected<void> take_athletes(std::span<const Athlete> athletes, std::span<const FieldChange> changes);
    /// Those of athletes that are unknown here are left out, those of the same athlete, name and date take its place.
    [[nodiscard]] Expected<void> take_measures(std::span<const Measure> measures);
    /// Sessions, or the rest of them, as they stand elsewhere: events are added at the end only, results take the place
    /// of those that are there. All or none. Fails (damaged) where they don't go on from what is here.
    [[nodiscard]] Expected<void> take_sessions(std::span<const TakenSession> sessions);
    /// `gone` is `kept`: sessions and imported values go over; of two values of a day the kept one's stays. False if
    /// that was so already.
    [[nodiscard]] Expected<bool> join_athletes(const JoinedAthletes& joined);
    /// Notes of an athlete who is not here that it was erased elsewhere, so that it is not taken again.
    [[nodiscard]] Expected<void> note_erased(std::span<const ErasedAthlete> erased);

    /// The sessions that an earlier program was cut off at and that were not told yet: told once.
    [[nodiscard]] Expected<std::vector<SessionSummary>> take_cut_off();

    struct State;  ///< internal

  private:
    explicit Store(std::unique_ptr<State> state);
    std::unique_ptr<State> state_;
};

}  // namespace breakstep
