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
#include "hall/evening/evening_view.hpp"
#include "hall/evening/pass_on.hpp"

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
    /// A drill's title; "" for one that is not known. Null: every drill is known.
    std::function<std::string(const std::string& drill)> title{};
    /// What is to be done to the gates for athletes of this place in the order of heights; may be null.
    std::function<std::string(std::int32_t height_order)> gates{};
    /// A drill that pairs practise without the rig; null: none. May be null.
    std::function<const Drill*(const std::string& drill)> pairs_drill{};
    /// Whether a partner's leg attacks in a drill; null: in none.
    std::function<bool(const std::string& drill)> with_partner{};
    /// Whether a partner is led to the end of their room in a drill; null: in none.
    std::function<bool(const std::string& drill)> leads_to_edge{};
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
    /// The program leaves and the evening may go on later: the session at the rig stands aside. True once it does, or
    /// there is none.
    [[nodiscard]] bool leave(HostTime now);
    void poll(HostTime now);
    /// What was noticed of the rig, for whoever looks after it.
    void noticed(const std::string& words, HostTime now);
    [[nodiscard]] std::optional<HostTime> next_due() const;

    [[nodiscard]] const evening::State& state() const { return state_; }
    [[nodiscard]] bool over() const { return state_.over; }
    [[nodiscard]] const std::vector<evening::EveningRecord>& records() const { return records_; }
    [[nodiscard]] evening::EveningTime time(HostTime now) const { return now - zero_; }

    /// Any thread.
    [[nodiscard]] std::shared_ptr<const EveningView> view() const;
    /// Any thread: every rep that came or changed since `number`, in order.
    [[nodiscard]] std::vector<RepSeen> reps_since(std::uint64_t number) const;

    /// Each new snapshot, on the owner's thread; may be empty.
    std::function<void(const EveningView&)> on_published;
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
    [[nodiscard]] evening::Why why_no_list(const std::string& text) const;
    void ask_partner(const PartnerList& list, HostTime now);
    [[nodiscard]] std::vector<Participant> pair_of(const SessionBegan& began);
    void end(SessionId session, HostTime now);
    void void_last(const evening::VoidLast& wanted, HostTime now);
    void move_if_free(HostTime now);
    void move(const evening::Move& wanted, HostTime now);
    void give_doses(std::int32_t block, HostTime now);
    void give_dose(AthleteId athlete, HostTime now);
    void follow_count(HostTime now);
    void follow_pads(const JournalEvent& event);
    [[nodiscard]] bool is_counting() const;
    void follow_commits(HostTime now);
    void publish(HostTime now);
    [[nodiscard]] EveningView seen(HostTime now) const;
    void add_task(EveningView& view) const;
    void add_following(EveningView& view, HostTime now) const;
    void add_summary(EveningView& view) const;
    void add_partner_cue(EveningView& view, HostTime now) const;
    void follow_cue(const JournalEvent& event);
    void add_partner_next(EveningView& view) const;
    void add_signs(EveningView& view) const;
    [[nodiscard]] std::string gates_for(const evening::Person& one, bool moves) const;
    void keep_rep(SessionId session, const RepResult& rep, bool first);
    /// The newest that was told and is no catch trial, whoever made it; null where its session is over.
    struct Newest {
        SessionId session{};
        const RepResult* rep = nullptr;
    };
    [[nodiscard]] Newest newest_rep() const;
    [[nodiscard]] const RepResult* last_rep() const { return newest_rep().rep; }
    void void_rep(SessionId session, RepId rep, VoidReason reason, HostTime now);
    [[nodiscard]] AthleteId athlete_of(SessionId session) const;
    [[nodiscard]] std::string shown(AthleteId athlete) const;

    EveningClub club_;
    DriverCore& core_;
    Journal& journal_;
    evening::State state_;
    std::vector<evening::EveningRecord> records_;
    HostTime zero_{};
    std::optional<SessionId> fresh_, ending_;
    bool aside_asked_ = false, leaving_ = false;
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
    std::vector<JournalRecord> set_records_;      ///< of `set_session_`, since it began or went on
    SessionId set_session_{};
    PassOn pass_on_;
    bool passed_on_ = false;
    std::string said_;  ///< the last answer to a request, for whoever looks
    std::optional<HostTime> count_began_;
    std::optional<PartnerCue> partner_cue_;  ///< the last that came
    std::function<void(const PartnerCue&)> before_partner_cue_;
    std::optional<evening::Move> to_move_;
    RigNow rig_now_;
    HostTime now_{};  ///< of the last look

    std::atomic<std::shared_ptr<const EveningView>> view_;
    mutable std::mutex reps_lock_;
    std::vector<RepSeen> reps_;
};

}  // namespace breakstep
