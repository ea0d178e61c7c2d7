// A rig on a pseudo-terminal that ends in the middle of a run: its number may at once be somebody else's terminal (seen
// in tests that ran side by side: one that had lost its rig took the next one's), or the rig's own again.
#include <doctest/doctest.h>

#include <fcntl.h>
#include <stdlib.h>
#include <termios.h>
#include <unistd.h>

#include <atomic>
#include <chrono>
#include <filesystem>
#include <mutex>
#include <optional>
#include <string>
#include <thread>
#include <vector>

#include "devices/simulated/simulate_rig.hpp"
#include "hall/drivers/live_cues.hpp"
#include "hall/drivers/live_driver.hpp"
#include "store/memory_journal.hpp"

using namespace breakstep;

namespace {

/// The terminal of this path, if its number can be had again; the ones on the way to it are held until the end.
class Reused {
  public:
    explicit Reused(const std::string& path) {
        for (int tries = 0; tries < 64; ++tries) {
            const int terminal = posix_openpt(O_RDWR | O_NOCTTY);
            if (terminal < 0 || unlockpt(terminal) != 0) return;
            held_.push_back(terminal);
            if (path == ptsname(terminal)) {
                far_side_ = open(path.c_str(), O_RDWR | O_NOCTTY);
                return;
            }
        }
    }
    ~Reused() {
        for (const int each : held_) close(each);
        if (far_side_ >= 0) close(far_side_);
    }
    Reused(const Reused&) = delete;
    Reused& operator=(const Reused&) = delete;
    [[nodiscard]] bool had() const { return far_side_ >= 0; }
    /// Nobody has set it raw.
    [[nodiscard]] bool untouched() const {
        termios settings{};
        return tcgetattr(far_side_, &settings) == 0 && (settings.c_lflag & ICANON) != 0;
    }

  private:
    std::vector<int> held_;
    int far_side_ = -1;
};

/// A driver without sessions on `port`, and what it told.
struct Watched {
    explicit Watched(const std::string& port, Duration patience = 30s)
        : settings{{}, port, patience}, driver(settings, journal, cues, nullptr) {
        driver.on_ready = [this](const Engine&, Duration) { ready = true; };
        driver.on_notice = [this](const std::string& text) {
            const std::lock_guard lock(lock_);
            notices_.push_back(text);
        };
        driver.watch();
    }
    ~Watched() {
        driver.stop();
        while (!driver.finished()) std::this_thread::sleep_for(std::chrono::milliseconds(5));
    }
    Watched(const Watched&) = delete;
    Watched& operator=(const Watched&) = delete;

    [[nodiscard]] std::vector<std::string> notices() const {
        const std::lock_guard lock(lock_);
        return notices_;
    }
    [[nodiscard]] std::size_t said(const std::string& part) const {
        std::size_t times = 0;
        for (const std::string& text : notices()) times += text.find(part) != std::string::npos ? 1 : 0;
        return times;
    }

    LiveSettings settings;
    MemoryJournal journal;
    LiveCues cues{[] {
        LiveCues::Wanted nothing;
        nothing.sound = nothing.stage = false;
        return nothing;
    }()};
    LiveDriver driver;
    std::atomic<bool> ready{false};

  private:
    mutable std::mutex lock_;
    std::vector<std::string> notices_;
};

template <class Condition>
bool wait_for(Condition condition) {
    for (int tries = 0; tries < 3000 && !condition(); ++tries)
        std::this_thread::sleep_for(std::chrono::milliseconds(10));
    return condition();
}

SimulatedRig a_rig() {
    auto rig = SimulatedRig::open({});
    REQUIRE(rig.has_value());
    return std::move(*rig);
}

/// A rig on this path, if its number can be had again.
std::optional<SimulatedRig> rig_at(const std::string& path) {
    std::vector<SimulatedRig> others;
    for (int tries = 0; tries < 64; ++tries) {
        others.push_back(a_rig());
        if (others.back().path() == path) return std::move(others.back());
    }
    return std::nullopt;
}

}  // namespace

TEST_CASE("a terminal that has the number of an ended rig's is left alone") {
    std::optional<SimulatedRig> plugged(a_rig());
    const std::string path = plugged->path();
    const Watched watched(path);
    REQUIRE(wait_for([&] { return watched.ready.load(); }));
    plugged.reset();
    const Reused other(path);
    REQUIRE(wait_for([&] { return watched.said("is gone") > 0; }));
    if (!other.had()) MESSAGE("another program was quicker: nothing to see");
    // A few of the looks for the rig that is gone.
    for (int i = 0; other.had() && i < 15; ++i) {
        std::this_thread::sleep_for(std::chrono::milliseconds(100));
        REQUIRE(other.untouched());
    }
    if (other.had()) CHECK(watched.said("is another program's") == 1);
}

TEST_CASE("a rig that is back on its old terminal after a gap is taken again, and that is said once") {
    std::optional<SimulatedRig> plugged(a_rig());
    const std::string path = plugged->path();
    const Watched watched(path);
    REQUIRE(wait_for([&] { return watched.ready.load(); }));
    plugged.reset();
    REQUIRE(wait_for([&] { return watched.said("is gone") > 0; }));
    std::this_thread::sleep_for(std::chrono::milliseconds(600));
    auto again = rig_at(path);
    if (!again) {
        MESSAGE("another program was quicker: nothing to see");
        return;
    }
    // The same board: the simulated rig's identity comes from its seed.
    CHECK(wait_for([&] { return watched.said("the rig is back on " + path) > 0; }));
    CHECK(watched.said("started anew") == 1);
    CHECK(watched.notices().size() == 3);
}

TEST_CASE("a path that is named is waited for, and that is said once") {
    const auto link = std::filesystem::temp_directory_path() / ("rig_" + std::to_string(getpid()));
    std::filesystem::remove(link);
    const Watched watched(link.string());
    std::this_thread::sleep_for(std::chrono::milliseconds(1200));
    CHECK_FALSE(watched.driver.finished());
    const SimulatedRig rig = a_rig();
    std::filesystem::create_symlink(rig.path(), link);
    CHECK(wait_for([&] { return watched.ready.load(); }));
    CHECK(watched.notices() == std::vector<std::string>{"waiting for the rig on " + link.string()});
    std::filesystem::remove(link);
}

TEST_CASE("a named path on which nothing ever answers ends the search, with what to do") {
    const int silent = posix_openpt(O_RDWR | O_NOCTTY);
    REQUIRE(silent >= 0);
    REQUIRE(unlockpt(silent) == 0);
    const std::string path = ptsname(silent);
    {
        const Watched watched(path, 1s);
        REQUIRE(wait_for([&] { return watched.driver.finished(); }));
        const auto outcome = watched.driver.outcome();
        REQUIRE_FALSE(outcome.has_value());
        CHECK(outcome.error().what == "nothing on " + path + " answers as a rig");
    }
    close(silent);
}
