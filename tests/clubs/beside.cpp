// What an event costs the engine, with and without `share --every` beside it: the same sessions in real time on a
// simulated rig, in turns, so that whatever else the machine does meets both alike. Printed, never judged.
#include <fcntl.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include <csignal>
#include <cstdio>
#include <cstdlib>

#include "support/clubs_tests.hpp"

using namespace breakstep;
using namespace breakstep::testing;

namespace {

pid_t begin(const Room& room, const std::vector<std::string>& words) {
    const pid_t child = ::fork();
    if (child != 0) return child;
    std::vector<char*> arguments;
    for (const std::string& word : words) arguments.push_back(const_cast<char*>(word.c_str()));
    arguments.push_back(nullptr);
    ::setenv("HOME", room.folder.c_str(), 1);
    for (const char* name : {"XDG_CONFIG_HOME", "XDG_DATA_HOME", "BREAKSTEP_CONFIG"}) ::unsetenv(name);
    const std::string out = room.file("beside-" + words[1] + ".txt");
    const int said = ::open(out.c_str(), O_WRONLY | O_CREAT | O_APPEND, 0600);
    if (said < 0 || ::dup2(said, 1) < 0 || ::dup2(said, 2) < 0 || ::chdir(room.folder.c_str()) != 0) ::_exit(127);
    ::execv(arguments[0], arguments.data());
    ::_exit(127);
}

struct Cost {
    double cpu_seconds = 0;
    std::int64_t events = 0;
    [[nodiscard]] double microseconds_an_event() const { return 1e6 * cpu_seconds / static_cast<double>(events); }
};

double seconds(const timeval& time) {
    return static_cast<double>(time.tv_sec) + 1e-6 * static_cast<double>(time.tv_usec);
}

/// One demo in real time; its processor time is all of its threads': engine, store writer, simulated rig.
Cost play(const Room& room, const std::string& file, const std::string& url, bool shared) {
    {
        // Everyone who plays says yes beforehand, so that there is something to share.
        must_run(room, "demo --fast --seed 3 --store " + file);
        const auto store = opened(room.file(file), StoreMode::inline_writes);
        const auto athletes = store->athletes().value();
        for (const Athlete& athlete : athletes) say_yes(*store, athlete.call_sign);
        must(store->close());
    }
    const auto events_in = [&] {
        std::int64_t events = 0;
        const auto sessions = opened(room.file(file))->sessions().value();
        for (const SessionSummary& session : sessions) events += session.events;
        return events;
    };
    const std::int64_t before = events_in();
    const pid_t demo = begin(room, {BREAKSTEP_PROGRAM, "demo", "--headless", "--seed", "3", "--store", file});
    const pid_t share =
        shared ? begin(room, {BREAKSTEP_PROGRAM, "share", "--every", "1s", "--store", file, "--to", url}) : 0;
    int status = 0;
    rusage used{};
    REQUIRE(::wait4(demo, &status, 0, &used) == demo);
    CHECK(status == 0);
    if (share > 0) {
        ::kill(share, SIGTERM);
        ::waitpid(share, nullptr, 0);
    }
    return {seconds(used.ru_utime) + seconds(used.ru_stime), events_in() - before};
}

}  // namespace

TEST_CASE("figures of an event's cost with and without sharing beside it") {
    const ClubServer server;
    const Room room;
    prepare(room, server);
    const std::string url = server.url("saltmarsh");
    Cost alone, beside;
    for (int turn = 0; turn < 2; ++turn)
        for (const bool shared : {false, true}) {
            const Cost cost = play(room, fmt::format("{}-{}.db", turn, shared), url, shared);
            Cost& sum = shared ? beside : alone;
            sum.cpu_seconds += cost.cpu_seconds;
            sum.events += cost.events;
        }
    CHECK(server.ask("SELECT count(*) > 0 FROM breakstep.events") == std::vector<std::string>{"t"});
    std::printf(
        "an event: %.0f us of the processor alone (%lld events), %.0f us with `share --every 1s` beside (%lld)\n",
        alone.microseconds_an_event(), static_cast<long long>(alone.events), beside.microseconds_an_event(),
        static_cast<long long>(beside.events));
}
