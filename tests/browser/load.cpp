// desk_load [SECONDS]: an evening whose engine publishes a hundred results a second (a simulated hall in virtual time,
// held back to that pace), and five phones on its desk by real sockets. Every phone must get every result once and in
// order. Printed beside it: what an event costs the engine's own thread with them, and without any desk, by turns of
// the same evening. Ends with 1 if a result was lost, doubled or out of order, or the pace was not kept.
#include <fmt/format.h>
#include <time.h>

#include <atomic>
#include <chrono>
#include <cstdlib>
#include <future>
#include <iostream>
#include <thread>

#include "core/trade/drill.hpp"
#include "desk/web/server.hpp"
#include "hall/drivers/fast_driver.hpp"
#include "hall/evening/evening_owner.hpp"
#include "scenarios/desk/hall.hpp"
#include "store/memory_journal.hpp"
#include "tools/simulated_hall.hpp"

using namespace breakstep;
using namespace breakstep::tests;
using Clock = std::chrono::steady_clock;

namespace {

constexpr HostTime virtual_begin{Duration{1'000'000'000}};
constexpr std::uint64_t seed = 4;
constexpr double results_a_second = 100;
constexpr int phones = 5;

double thread_cpu_seconds() {
    timespec used{};
    ::clock_gettime(CLOCK_THREAD_CPUTIME_ID, &used);
    return static_cast<double>(used.tv_sec) + 1e-9 * static_cast<double>(used.tv_nsec);
}

/// Counts what goes by, and keeps none of it.
class CountingJournal final : public Journal {
  public:
    void append(SessionId session, std::span<const JournalRecord> records) override {
        events_ += static_cast<std::int64_t>(records.size());
        if (!records.empty()) committed_[session] = records.back().position;
    }
    void append_evening(EveningId evening, std::span<const evening::EveningRecord> records) override {
        events_ += static_cast<std::int64_t>(records.size());
        if (!records.empty()) committed_[static_cast<SessionId>(evening)] = records.back().position;
    }
    void keep(SessionId, const RepResult&) override {}
    void keep_totals(SessionId, const SessionTotals&) override {}
    [[nodiscard]] std::int64_t committed(SessionId session) const override {
        const auto found = committed_.find(session);
        return found == committed_.end() ? -1 : found->second;
    }
    [[nodiscard]] std::optional<Error> failure() const override { return std::nullopt; }
    [[nodiscard]] std::int64_t events() const { return events_; }

  private:
    std::map<SessionId, std::int64_t> committed_;
    std::int64_t events_ = 0;
};

Drill drill() {
    Drill drill;
    drill.name = drill.title = "load";
    drill.attacks = {AttackChoice{}};
    drill.reps = 10;
    drill.sets = 20;
    drill.wait_minimum = 1s;
    drill.wait_extra = 300ms;
    return drill;
}

EveningClub club(const std::vector<AthleteProfile>& profiles) {
    EveningClub club;
    club.fresh_session = [next = std::uint64_t{1000}]() mutable { return SessionId{++next}; };
    club.dose = [](const evening::Person& person, const evening::Block&) {
        return evening::DoseGiven{person.athlete, "load", 10, 500, 40s, false};
    };
    club.session = [](AthleteId id, const std::string&) -> Expected<SessionBegan> {
        SessionBegan began;
        began.athlete = id;
        began.seed = static_cast<std::uint64_t>(id) + 17;
        began.drill = drill();
        return began;
    };
    club.call_sign = [&profiles](AthleteId id) {
        return std::string(profiles[static_cast<std::size_t>(id) - 1].call_sign);
    };
    club.names = [sign = club.call_sign](AthleteId id, const SessionBegan& began) {
        SceneNames names;
        names.athlete = sign(id);
        names.drill_title = began.drill.title;
        names.seed = began.seed;
        return names;
    };
    return club;
}

/// The evening, played on a thread of its own at the pace of its results.
class Hall {
  public:
    Hall()
        : target_(simulated_target_settings(seed), virtual_begin),
          cues_(nullptr, virtual_begin),
          driver_(engine(), target_, journal_, cues_, nullptr, virtual_begin),
          owner_(club(profiles_), driver_.core(), journal_) {}

    [[nodiscard]] EveningOwner& owner() { return owner_; }
    struct Cost {
        double cpu_seconds = 0, seconds = 0;
        std::int64_t events = 0;
        std::uint64_t results = 0;
        [[nodiscard]] double microseconds_an_event() const { return 1e6 * cpu_seconds / static_cast<double>(events); }
    };
    [[nodiscard]] Cost play(double seconds);

  private:
    [[nodiscard]] static EngineSettings engine() {
        EngineSettings settings;
        settings.seed = seed;
        return settings;
    }

    std::vector<AthleteProfile> profiles_ = sixteen_athletes();
    CountingJournal journal_;
    SimulatedTarget target_;
    VirtualCues cues_;
    FastDriver driver_;
    EveningOwner owner_;
};

Hall::Cost Hall::play(double seconds) {
    std::vector<HallMember> members;
    for (std::size_t i = 0; i < profiles_.size(); ++i)
        members.push_back({AthleteId{i + 1}, profiles_[i], {}, std::nullopt});
    HallTroubles none{-1, -1, -1, -1, -1, -1, -1};
    SimulatedHall hall(members, none, seed, target_, owner_, [](AthleteId) { return drill(); });
    owner_.on_record = [&](const evening::EveningRecord& record) { hall.saw(record, driver_.now()); };
    driver_.pass(5s);
    evening::EveningBegan began;
    began.evening = EveningId{1};
    began.seed = seed;
    began.blocks = {{evening::BlockKind::rounds, std::chrono::hours(100), "load", evening::Who::all, "load"}};
    owner_.begin(began, driver_.now());
    for (std::size_t i = 0; i < profiles_.size(); ++i) {
        evening::AthleteCame came;
        came.athlete = AthleteId{i + 1};
        came.age = static_cast<std::int32_t>(profiles_[i].age);
        owner_.came(came, driver_.now());
    }
    Cost cost;
    const double cpu_before = thread_cpu_seconds();
    const auto begin = Clock::now();
    const auto end = begin + std::chrono::duration_cast<Clock::duration>(std::chrono::duration<double>(seconds));
    while (Clock::now() < end && !owner_.over()) {
        const HostTime now = driver_.now();
        owner_.poll(now);
        HostTime next = now + 1s;
        for (const auto& due : {owner_.next_due(), hall.next_due()})
            if (due && *due > now) next = std::min(next, *due);
        driver_.advance(next);
        hall.due(driver_.now());
        const double ahead = static_cast<double>(owner_.view()->reps) / results_a_second;
        std::this_thread::sleep_until(
            std::min(end, begin + std::chrono::duration_cast<Clock::duration>(std::chrono::duration<double>(ahead))));
    }
    cost.cpu_seconds = thread_cpu_seconds() - cpu_before;
    cost.seconds = std::chrono::duration<double>(Clock::now() - begin).count();
    cost.events = journal_.events();
    owner_.poll(driver_.now());
    cost.results = owner_.reps_since(0).size();
    return cost;
}

/// What a phone got: numbers, as they came.
struct Got {
    std::uint64_t last = 0, wrong = 0;
    double longest_silence_ms = 0;
};

/// The line's frames as they come: each message's numbers are taken, each ping is answered.
class Frames {
  public:
    void take(const std::string& bytes, Client& client, Got& got) {
        rest_ += bytes;
        while (const auto frame = next()) {
            constexpr unsigned char ping = 9;
            if (frame->opcode == ping) client.send(breakstep::tests::frame(frame->payload, 0x8A));
            if (frame->opcode > 2) continue;
            message_ += frame->payload;
            if (frame->last) take_numbers(std::exchange(message_, {}), got);
        }
    }

  private:
    struct Frame {
        unsigned char opcode = 0;
        bool last = true;
        std::string payload;
    };
    [[nodiscard]] std::optional<Frame> next() {
        const auto byte = [this](std::size_t at) { return static_cast<unsigned char>(rest_[at]); };
        if (rest_.size() < 2) return std::nullopt;
        std::size_t size = byte(1) & 127U, head = 2;
        const std::size_t more = size == 126 ? 2 : size == 127 ? 8 : 0;
        if (rest_.size() < head + more) return std::nullopt;
        if (more > 0) size = 0;
        for (std::size_t i = 0; i < more; ++i) size = 256 * size + byte(head++);
        if (rest_.size() < head + size) return std::nullopt;
        Frame frame{static_cast<unsigned char>(byte(0) & 15U), (byte(0) & 128U) != 0, rest_.substr(head, size)};
        rest_.erase(0, head + size);
        return frame;
    }
    static void take_numbers(const std::string& text, Got& got) {
        const std::string mark = "{\"n\":";
        for (std::size_t at = text.find(mark); at != std::string::npos; at = text.find(mark, at + 1)) {
            const std::uint64_t number = std::strtoull(text.c_str() + at + mark.size(), nullptr, 10);
            if (number != got.last + 1) ++got.wrong;
            got.last = number;
        }
    }

    std::string rest_, message_;
};

Got listen(std::uint16_t port, const Paired& who, const std::atomic<std::uint64_t>& wanted) {
    Client client(port);
    Got got;
    const std::string host = "127.0.0.1:" + std::to_string(port);
    if (open_line(client, host, who).status != 101) return {0, 1, 0};
    Frames frames;
    auto last_came = Clock::now();
    while (got.last < wanted) {
        const std::string more = client.more();
        const auto now = Clock::now();
        const double silence = std::chrono::duration<double, std::milli>(now - last_came).count();
        if (more.empty() && silence > 20'000) break;
        if (more.empty()) continue;
        got.longest_silence_ms = std::max(got.longest_silence_ms, silence);
        last_came = now;
        frames.take(more, client, got);
    }
    return got;
}

Hall::Cost with_phones(double seconds, std::vector<Got>& got) {
    Hall hall;
    desk::DeskHouse house;
    house.club = "Saltmarsh Hall";
    house.view = [&hall] { return hall.owner().view(); };
    house.reps_since = [&hall](std::uint64_t number) { return hall.owner().reps_since(number); };
    auto server = desk::DeskServer::open(std::move(house), {0, false, {}});
    if (!server) throw std::runtime_error(server.error().text());
    (*server)->start();
    std::vector<Paired> paired;
    for (int i = 0; i < phones; ++i) paired.push_back(pair(**server, "watch", false));
    std::atomic<std::uint64_t> wanted{~std::uint64_t{0}};
    std::vector<std::future<Got>> listening;
    for (const Paired& each : paired)
        listening.push_back(std::async(std::launch::async, listen, (*server)->port(), each, std::cref(wanted)));
    const Hall::Cost cost = std::async(std::launch::async, [&] { return hall.play(seconds); }).get();
    wanted = cost.results;
    for (auto& each : listening) got.push_back(each.get());
    return cost;
}

}  // namespace

int main(int count, char** words) {
    const double seconds = count > 1 ? std::strtod(words[1], nullptr) : 60;
    std::vector<Got> got;
    Hall::Cost alone;
    {
        Hall hall;
        alone = std::async(std::launch::async, [&] { return hall.play(seconds / 2); }).get();
    }
    const Hall::Cost beside = with_phones(seconds, got);
    bool held = true;
    for (std::size_t i = 0; i < got.size(); ++i) {
        const bool all = got[i].wrong == 0 && got[i].last == beside.results;
        held = held && all;
        std::cout << fmt::format("phone {}: {} of {} results, {} out of order, longest silence {:.0f} ms\n", i + 1,
                                 got[i].last, beside.results, got[i].wrong, got[i].longest_silence_ms);
    }
    const double pace = static_cast<double>(beside.results) / beside.seconds;
    std::cout << fmt::format(
        "{:.0f} results a second for {:.0f} s; an event: {:.2f} us of the engine's thread without a desk ({} events), "
        "{:.2f} us with {} phones on it ({})\n",
        pace, beside.seconds, alone.microseconds_an_event(), alone.events, beside.microseconds_an_event(), got.size(),
        beside.events);
    const bool paced = pace >= 0.95 * results_a_second;
    if (!paced) std::cout << "the pace was not kept: this computer is too busy for the measurement\n";
    return held && paced && got.size() == phones ? 0 : 1;
}
