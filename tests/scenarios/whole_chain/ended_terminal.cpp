// A rig on a pseudo-terminal that ends in the middle of a run: its number may at once be somebody else's terminal. Seen
// in tests that ran side by side: one that had lost its rig took the next one's.
#include <doctest/doctest.h>

#include <fcntl.h>
#include <stdlib.h>
#include <termios.h>
#include <unistd.h>

#include <atomic>
#include <chrono>
#include <mutex>
#include <optional>
#include <string>
#include <thread>
#include <vector>

#include "app/drivers/live_cues.hpp"
#include "app/drivers/live_driver.hpp"
#include "devices/simulated/simulate_rig.hpp"
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

}  // namespace

TEST_CASE("a terminal that has the number of an ended rig's is left alone") {
    auto rig = SimulatedRig::open({});
    REQUIRE(rig.has_value());
    std::optional<SimulatedRig> plugged(std::move(*rig));
    LiveSettings settings;
    settings.port = plugged->path();
    MemoryJournal journal;
    LiveCues::Wanted nothing;
    nothing.sound = nothing.stage = false;
    LiveCues cues(nothing);
    LiveDriver driver(settings, journal, cues, nullptr);
    std::atomic<bool> ready{false}, gone{false};
    driver.on_ready = [&](const Engine&, Duration) { ready = true; };
    driver.on_notice = [&](const std::string& text) {
        if (text.find("is gone") != std::string::npos) gone = true;
    };
    driver.watch();
    const auto wait_for = [](const std::atomic<bool>& flag) {
        for (int tries = 0; tries < 3000 && !flag; ++tries) std::this_thread::sleep_for(std::chrono::milliseconds(10));
        return flag.load();
    };
    REQUIRE(wait_for(ready));
    const std::string path = plugged->path();
    plugged.reset();
    const Reused other(path);
    REQUIRE(wait_for(gone));
    if (!other.had()) MESSAGE("another program was quicker: nothing to see");
    // A few of the looks for the rig that is gone.
    for (int i = 0; other.had() && i < 10; ++i) {
        std::this_thread::sleep_for(std::chrono::milliseconds(100));
        REQUIRE(other.untouched());
    }
    driver.stop();
    while (!driver.finished()) std::this_thread::sleep_for(std::chrono::milliseconds(5));
}
