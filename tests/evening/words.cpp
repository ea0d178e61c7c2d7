// evening_words quick|slow [REPS]: how soon the click and the word come after a contact, live: the real firmware on the
// paced board over a pseudo-terminal (behind a 16 ms latency timer: slow), the sound device's own callback, the stage's
// own window. A contact is the board's cycle at which the blow crossed the pad's threshold; a click is heard at the
// frame that was mixed first, by the times at which the device asked for its blocks; a word is seen when the frame that
// shows it first was presented. Goals: click 60 ms, word 250, at the 99th percentile; printed, and judged only if asked
// to (BREAKSTEP_JUDGE=1): a busy computer is no fault of the program.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <iostream>
#include <map>
#include <mutex>
#include <set>

#include "devices/serial/serial_port.hpp"
#include "evening/slow_pty.hpp"
#include "hall/drivers/live_cues.hpp"
#include "hall/evening/live_evening.hpp"
#include "places.hpp"
#include "store/memory_journal.hpp"
#include "tools/evening_audit.hpp"
#include "truth/board_process.hpp"
#include "truth/true_time.hpp"

using namespace breakstep;
using namespace breakstep::tests;

namespace {

using RepKey = std::pair<SessionId, RepId>;

/// The live devices, watched.
class WatchedCues final : public CueOutput {
  public:
    explicit WatchedCues(const LiveCues::Wanted& wanted) : cues_(wanted) {}

    void play(const SoundCommand& command) override { cues_.play(command); }
    void show(const StageView& view) override {
        if (view.verdict) {
            const std::lock_guard lock(lock_);
            if (view.verdict->since != last_word_) waiting_.push_back(view.verdict->since);
            last_word_ = view.verdict->since;
        }
        cues_.show(view);
    }
    [[nodiscard]] std::optional<CueStarted> next_started() override {
        const auto started = cues_.next_started();
        if (started && started->sound == CueSound::click) {
            const std::lock_guard lock(lock_);
            clicks_.push_back(started->started);
        }
        return started;
    }
    [[nodiscard]] std::optional<BlockAsked> next_block() override {
        const auto block = cues_.next_block();
        if (block) {
            const std::lock_guard lock(lock_);
            blocks_.emplace(static_cast<std::int64_t>(block->first), block->asked_at);
        }
        return block;
    }
    [[nodiscard]] std::optional<BorderShown> next_shown() override { return cues_.next_shown(); }

    /// Main thread: a frame is drawn and presented.
    void frame() {
        std::vector<HostTime> in_it;
        {
            const std::lock_guard lock(lock_);
            std::swap(in_it, waiting_);
        }
        cues_.window()->frame();
        const HostTime presented = host_now();
        for (const HostTime since : in_it) words_.push_back({since, presented});
    }
    struct Word {
        HostTime given, drawn;
    };
    [[nodiscard]] const std::vector<Word>& words() const { return words_; }
    /// When each click was mixed into the stream, by the block it began in.
    [[nodiscard]] std::vector<HostTime> clicks() {
        const std::lock_guard lock(lock_);
        std::vector<HostTime> all;
        for (const AudioFrame frame : clicks_) {
            const auto number = static_cast<std::int64_t>(frame);
            auto block = blocks_.upper_bound(number);
            if (block == blocks_.begin()) continue;
            --block;
            all.push_back(block->second + Duration((number - block->first) * 1'000'000'000 / audio_frames_per_second));
        }
        return all;
    }
    [[nodiscard]] LiveCues& live() { return cues_; }

  private:
    LiveCues cues_;
    std::mutex lock_;
    HostTime last_word_{};
    std::vector<HostTime> waiting_;
    std::vector<AudioFrame> clicks_;
    std::map<std::int64_t, HostTime> blocks_;
    std::vector<Word> words_;
};

Drill drill_of(int reps) {
    Drill drill;
    drill.name = "measured";
    drill.title = "measured";
    drill.attacks = {AttackChoice{}};
    drill.sets = 2;
    drill.reps = std::min(60, (reps + 1) / 2);
    drill.wait_minimum = 700ms;
    drill.wait_extra = 300ms;
    return drill;
}

/// Strikes on the board, planned as reps open; all on the engine's thread, what comes of it read after the run.
struct Striker {
    BoardProcess& board;
    TrueTime time;
    Random random{7, 11};
    std::vector<HostTime> contacts{};  ///< in a rep, true times
    std::optional<TargetTime> zero{};
    std::uint64_t clock_zero = 0;

    HostTime strike(std::uint64_t cycle) {
        constexpr double threshold = 60, peak = 400, rise_us = 60;
        const auto rise = static_cast<std::uint64_t>(rise_us * cycles_per_us);
        board.strike(cycle, 0, peak, rise_us, 4);
        board.poll();
        return time.time_of(cycle +
                            static_cast<std::uint64_t>(std::ceil(static_cast<double>(rise) * threshold / peak)));
    }
    [[nodiscard]] std::uint64_t cycle_of(TargetTime at) const {
        return clock_zero + static_cast<std::uint64_t>(at.since_boot().count() * 16 / 1000);
    }
    void saw(const JournalRecord& record, HostTime now) {
        const auto* opened = std::get_if<RepOpened>(&record.event);
        if (opened == nullptr || opened->catch_trial) return;
        Duration until_drop{};
        for (const AttackPhase& phase : opened->phases) {
            if (phase.phase == Phase::drop) break;
            until_drop += phase.length;
        }
        const std::uint64_t cycle =
            cycle_of(opened->onset + until_drop + Duration(static_cast<std::int64_t>(random.uniform(10e6, 110e6))));
        if (time.time_of(cycle) < now + 20ms) return;  // the host was held up: nobody can strike in the past
        contacts.push_back(strike(cycle));
    }
};

EveningClub club_of(const Drill& drill) {
    EveningClub club;
    club.fresh_session = [next = std::uint64_t{100}]() mutable { return SessionId{next++}; };
    club.dose = [drill](const evening::Person& person, const evening::Block&) {
        return std::optional(evening::DoseGiven{person.athlete, drill.name, drill.reps, drill.sets, 60s, false});
    };
    club.session = [drill](AthleteId athlete, const std::string&) -> Expected<SessionBegan> {
        SessionBegan began;
        began.athlete = athlete;
        began.seed = 5;
        began.drill = drill;
        return began;
    };
    club.names = [](AthleteId, const SessionBegan&) { return SceneNames{}; };
    club.call_sign = [](AthleteId athlete) { return static_cast<std::uint64_t>(athlete) == 1 ? "Heron" : "Curlew"; };
    return club;
}

/// Of each contact the first that came after it, within a second.
std::vector<double> after(const std::vector<HostTime>& contacts, std::vector<HostTime> answers) {
    std::sort(answers.begin(), answers.end());
    std::vector<double> ms;
    for (const HostTime contact : contacts) {
        const auto answer = std::lower_bound(answers.begin(), answers.end(), contact);
        if (answer != answers.end() && *answer - contact < 1s)
            ms.push_back(static_cast<double>((*answer - contact).count()) / 1e6);
    }
    return ms;
}

std::string row(const char* what, const std::vector<double>& ms, std::size_t of, double goal) {
    if (ms.empty()) return fmt::format("{}: none of {} came", what, of);
    return fmt::format("{}: {} of {}; median {:.1f}, 99th percentile {:.1f}, most {:.1f} ms (goal {:.0f})", what,
                       ms.size(), of, *percentile(ms, 0.5), *percentile(ms, 0.99), *percentile(ms, 1), goal);
}

}  // namespace

int main(int count, char** arguments) {
    const std::string line = count > 1 ? arguments[1] : "";
    if (line != "quick" && line != "slow") {
        std::cerr << "evening_words quick|slow [REPS]\n";
        return 2;
    }
    const int reps = count > 2 ? std::atoi(arguments[2]) : 40;
    constexpr double drift = 40e-6;
    BoardProcess board({3, "", true, drift * 1e6});
    std::optional<SlowPty> slow;
    if (line == "slow") slow.emplace(board.terminal());
    LiveCues::Wanted devices;
    devices.sounds_directory = BREAKSTEP_SOUNDS_DIR;
    WatchedCues cues(devices);
    if (!cues.live().has_sound() || cues.live().window() == nullptr) {
        for (const std::string& missing : cues.live().missing()) std::cerr << missing << '\n';
        return 1;
    }
    const Drill drill = drill_of(reps);
    LiveEveningSettings wanted;
    wanted.live.port = slow ? slow->path() : board.terminal();
    wanted.live.engine.devices.sound = wanted.live.engine.devices.screen = true;
    wanted.club = club_of(drill);
    wanted.began.evening = EveningId{9};
    wanted.began.blocks = {{evening::BlockKind::rounds, 1800s, "rounds", evening::Who::all, drill.name}};
    wanted.present = {{AthleteId{1}, 30, 0, ""}, {AthleteId{2}, 30, 0, ""}};
    MemoryJournal journal;
    LiveEvening live(std::move(wanted), journal, cues, nullptr);
    Striker striker{board, TrueTime(HostTime(Duration(board.started_ns())), drift)};
    HostTime next_blow{};
    live.on_notice = [](const std::string& text) { std::cerr << text << '\n'; };
    DriverCore& core = live.driver().core();
    core.on_records = [&, before = core.on_records](SessionId session, std::span<const JournalRecord> records) {
        for (const JournalRecord& record : records) striker.saw(record, host_now());
        before(session, records);
    };
    live.on_step = [&](HostTime now) {
        if (!board.boots().empty()) striker.clock_zero = board.boots().back().clock_zero;
        const auto view = live.view();
        const Conduct* conduct = core.engine().conduct();
        const bool waits = core.engine().in_session() ? conduct->scene().kind == SceneKind::awaiting_start
                                                      : view->rig == evening::AtRig::nobody;
        if (!waits || now < next_blow || !core.engine().link().connected()) return;
        next_blow = now + 2s;
        static_cast<void>(striker.strike(striker.time.cycle_at(now + 150ms)));
    };
    live.start();
    const HostTime gives_up = host_now() + 900s;
    while (!live.finished() && host_now() < gives_up) {
        cues.frame();
        while (cues.live().window()->next_event()) {
        }
    }
    if (!live.finished() || !live.outcome()) {
        std::cerr << (live.outcome() ? std::string("the evening did not end") : live.outcome().error().text()) << '\n';
        return 1;
    }
    std::vector<HostTime> drawn;
    for (const WatchedCues::Word& word : cues.words()) drawn.push_back(word.drawn);
    const std::vector<double> clicks = after(striker.contacts, cues.clicks()), words = after(striker.contacts, drawn);
    std::cout << fmt::format("{} line, {} contacts in a moment that is told at once\n", line, striker.contacts.size())
              << "  " << row("click, contact to mixed frame", clicks, striker.contacts.size(), 60) << "\n  "
              << row("word, contact to drawn frame", words, striker.contacts.size(), 250) << '\n';
    if (striker.contacts.empty()) return 1;
    if (std::getenv("BREAKSTEP_JUDGE") == nullptr) return 0;
    const bool good = clicks.size() == striker.contacts.size() && words.size() == striker.contacts.size() &&
                      *percentile(clicks, 0.99) <= 60 && *percentile(words, 0.99) <= 250;
    return good ? 0 : 1;
}
