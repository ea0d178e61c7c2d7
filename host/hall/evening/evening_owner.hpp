// The evening's owner: carries out what the evening fold decides, on the engine that it shares with the driver, and
// tells the fold what happened. One rig, window, sound and store for the whole evening.
//
// Owned by a command or a test beside its driver; on the driver's thread. poll() is to be called after whatever the
// driver did; it never blocks. What it can't have (a drill that can't be read) comes back as a notice. view() may be
// asked by any thread: each answer is one immutable snapshot with a number, and no reader can slow the evening.
#pragma once

#include <atomic>
#include <deque>
#include <functional>
#include <map>
#include <memory>
#include <mutex>
#include <optional>
#include <string>
#include <vector>

#include "core/evening/evening.hpp"
#include "core/score/journal.hpp"
#include "hall/drivers/driver_core.hpp"
#include "hall/evening/cut_evening.hpp"

namespace breakstep {

/// What the evening's owner needs of the club: made by whoever knows drills and athletes.
struct EveningClub {
    std::function<SessionId()> fresh_session;
    /// What an athlete is to do in a block; null: nothing.
    std::function<std::optional<evening::DoseGiven>(const evening::Person&, const evening::Block&)> dose;
    /// The session of a dose, without what the owner fills in (its id, the drill's sets and reps, the feedback).
    std::function<Expected<SessionBegan>(AthleteId, const std::string& drill)> session;
    std::function<SceneNames(AthleteId, const SessionBegan&)> names;
    std::function<std::string(AthleteId)> call_sign;
};

/// The evening as whoever looks at it sees it: stage, terminal, later phones.
struct EveningView {
    std::uint64_t number = 0;  ///< grows by one with each
    std::string block;         ///< its title; "" before the first and after the last
    Duration block_left{};
    evening::AtRig rig{};
    std::string at_rig, next;                    ///< call-signs; "" for nobody
    std::int32_t turns = 0, sets = 0, reps = 0;  ///< so far; reps: how many reps_since() knows
    bool paused = false, rig_here = true, over = false;
};

/// A rep as it is now. A later one of the same session and rep replaces it.
struct RepSeen {
    std::uint64_t number = 0;
    SessionId session{};
    AthleteId athlete{};
    RepResult result;
};

class EveningOwner {
  public:
    EveningOwner(EveningClub club, DriverCore& core, Journal& journal);
    ~EveningOwner();

    void begin(const evening::EveningBegan& began, HostTime now);
    /// An evening that another process began. `at`: how long ago it began by the wall clock.
    void go_on(CutEvening cut, evening::EveningTime at, std::int64_t unix_seconds, HostTime now);
    void came(const evening::AthleteCame& athlete, HostTime now);
    void left(AthleteId athlete, HostTime now);
    evening::Answer ask(const evening::Request& request, evening::Hand hand, HostTime now);
    void poll(HostTime now);
    [[nodiscard]] std::optional<HostTime> next_due() const;

    [[nodiscard]] const evening::State& state() const { return state_; }
    [[nodiscard]] bool over() const { return state_.over; }
    [[nodiscard]] const std::vector<evening::EveningRecord>& records() const { return records_; }
    [[nodiscard]] evening::EveningTime time(HostTime now) const { return now - zero_; }

    /// Any thread.
    [[nodiscard]] std::shared_ptr<const EveningView> view() const;
    /// Any thread: every rep that came or changed since `number`, in order.
    [[nodiscard]] std::vector<RepSeen> reps_since(std::uint64_t number) const;

    /// Each record as it is made (for whoever simulates the hall); may be empty.
    std::function<void(const evening::EveningRecord&)> on_record;
    std::function<void(const std::string&)> on_notice;

  private:
    void record(evening::EveningEvent event, HostTime now);
    void take_records(SessionId session, std::span<const JournalRecord> records);
    void take_answer(const LinkEvent& answer);
    void tell_waiting(HostTime now);
    void run(evening::Command& command, HostTime now);
    void start(const evening::Start& wanted, HostTime now);
    void end(SessionId session, HostTime now);
    void void_last(const evening::VoidLast& wanted, HostTime now);
    void move_if_free(HostTime now);
    void move(const evening::Move& wanted, HostTime now);
    void give_doses(std::int32_t block, HostTime now);
    void follow_commits(HostTime now);
    void publish(HostTime now);
    void keep_rep(SessionId session, const RepResult& rep);
    [[nodiscard]] const RepResult* last_rep() const;
    [[nodiscard]] AthleteId athlete_of(SessionId session) const;
    [[nodiscard]] std::string shown(AthleteId athlete) const;

    EveningClub club_;
    DriverCore& core_;
    Journal& journal_;
    evening::State state_;
    std::vector<evening::EveningRecord> records_;
    HostTime zero_{};
    std::optional<SessionId> fresh_;
    bool aside_asked_ = false;
    bool asked_ = true;  ///< something changed since the last look
    HostTime next_look_{};

    struct Waiting {
        evening::EveningEvent event;
        bool counts_outside = false;  ///< a rig event that is acknowledged once it is kept
    };
    std::deque<Waiting> waiting_;
    std::int64_t outside_ = 0;                                     ///< rig events outside sessions so far
    std::deque<std::pair<std::int64_t, std::int64_t>> to_settle_;  ///< (position here, number outside)
    std::optional<bool> rig_told_;

    std::map<SessionId, SessionBegan> sessions_;  ///< of this process
    std::vector<JournalRecord> set_records_;      ///< of the session that runs, since it began or went on
    std::optional<HostTime> count_began_;
    std::optional<evening::Move> to_move_;

    std::atomic<std::shared_ptr<const EveningView>> view_;
    mutable std::mutex reps_lock_;
    std::vector<RepSeen> reps_;
};

}  // namespace breakstep
