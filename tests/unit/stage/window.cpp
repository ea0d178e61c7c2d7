// The window, its cadence and its mailbox. The window runs on SDL's dummy driver: real frames, no screen.
#include <SDL.h>
#include <doctest/doctest.h>

#include <atomic>
#include <chrono>
#include <cstdlib>
#include <string>
#include <thread>

#include "devices/stage/cadence.hpp"
#include "devices/stage/latest_value.hpp"
#include "devices/stage/stage_window.hpp"
#include "unit/stage/pixels.hpp"

using namespace breakstep;
using namespace pixels;

namespace {

struct DummyScreen {
    DummyScreen() { setenv("SDL_VIDEODRIVER", "dummy", 1); }
    ~DummyScreen() { unsetenv("SDL_VIDEODRIVER"); }
};

HostTime now() {
    return HostTime{std::chrono::duration_cast<Duration>(std::chrono::steady_clock::now().time_since_epoch())};
}

void press(SDL_Keycode key) {
    SDL_Event event{};
    event.type = SDL_KEYDOWN;
    event.key.keysym.sym = key;
    SDL_PushEvent(&event);
}

/// Feeds a cadence with frames that end when a screen of that period has its refresh.
void present_all(Cadence& cadence, Duration period, int frames, HostTime& at) {
    for (int i = 0; i < frames; ++i) {
        const HostTime expected = cadence.expected(at);
        at += period;
        cadence.presented(at, expected, true);
    }
}

}  // namespace

TEST_CASE("a screen that makes us wait is believed, and its period measured") {
    Cadence cadence;
    HostTime at = start;
    present_all(cadence, 16'683'350ns, 80, at);  // 59.94 Hz
    CHECK(cadence.warm());
    CHECK(cadence.waits());
    CHECK(cadence.period() == 16'683'350ns);
    CHECK(cadence.expected(at + 1ms) == at + 16'683'350ns);
    // Late by more than a frame: the screen's next refresh, not now.
    CHECK(cadence.expected(at + 20ms) == at + 2 * 16'683'350ns);
}

TEST_CASE("a driver that claims to wait and does not is paced at sixty frames a second on one grid") {
    Cadence cadence;
    HostTime at = start;
    present_all(cadence, 300us, 30, at);
    CHECK(cadence.warm());
    CHECK_FALSE(cadence.waits());
    CHECK(cadence.period() == Cadence::sixtieth);
    const HostTime first = cadence.expected(at);
    cadence.presented(first + 700us, first, true);  // woke up a little late
    CHECK(cadence.expected(first + 1ms) == first + Cadence::sixtieth);
    cadence.skipped(first + Cadence::sixtieth);
    CHECK(cadence.expected(first + 17ms) == first + 2 * Cadence::sixtieth);
    // After a stall the grid starts anew.
    CHECK(cadence.expected(first + 500ms) == first + 500ms);
}

TEST_CASE("a stall does not change the measured period, and a window that stops waiting is noticed") {
    Cadence cadence;
    HostTime at = start;
    present_all(cadence, 16'666'667ns, 70, at);
    at += 300ms;
    cadence.presented(at, at, true);
    CHECK(cadence.period() == 16'666'667ns);
    present_all(cadence, 200us, 5, at);
    CHECK_FALSE(cadence.waits());
}

TEST_CASE("the mailbox gives the newest value, once, and never a torn one") {
    LatestValue<std::vector<int>> mailbox;
    CHECK_FALSE(mailbox.take());
    mailbox.put({1});
    mailbox.put({2, 2});
    CHECK(mailbox.take());
    CHECK(mailbox.latest() == std::vector<int>{2, 2});
    CHECK_FALSE(mailbox.take());
    CHECK(mailbox.latest() == std::vector<int>{2, 2});

    std::thread producer([&] {
        for (int i = 3; i <= 20'000; ++i) mailbox.put(std::vector<int>(static_cast<std::size_t>(i % 50 + 1), i));
    });
    int last = 2;
    while (last < 20'000) {
        if (!mailbox.take()) continue;
        const std::vector<int>& value = mailbox.latest();
        REQUIRE(value.front() > last);
        last = value.front();
        REQUIRE(value == std::vector<int>(static_cast<std::size_t>(last % 50 + 1), last));
    }
    producer.join();
}

TEST_CASE("the window shows what another thread hands it and tells when each phase was first shown") {
    const DummyScreen screen;
    auto window = StageWindow::open({.width = 320, .height = 180});
    REQUIRE_MESSAGE(window, window.error().text());
    CHECK(window->describe() == "dummy, software");
    for (std::uint64_t i = 0; i < 2 * Cadence::warm_up_frames; ++i) window->frame();
    CHECK(window->counters().frame_period == Cadence::sixtieth);

    AttackTimeline attack = single();
    attack.phases.back().length = 600ms;
    const HostTime toe_off = now() + 150ms;
    std::vector<ScreenOnset> onsets;
    std::atomic<bool> done{false};
    std::thread engine([&] {
        window->show(live({{42, toe_off, attack}}));
        while (!done.load()) {
            while (const auto onset = window->next_onset()) onsets.push_back(*onset);
            std::this_thread::yield();
        }
        while (const auto onset = window->next_onset()) onsets.push_back(*onset);
    });
    while (now() < toe_off + attack.end()) window->frame();
    done = true;
    engine.join();

    REQUIRE_FALSE(onsets.empty());  // a busy machine may skip a phase; the last one is long
    CHECK(onsets.back().phase == Phase::gap);
    for (std::size_t i = 0; i < onsets.size(); ++i) {
        const ScreenOnset& onset = onsets[i];
        CHECK(onset.rep == 42);
        REQUIRE(onset.phase_index < attack.phases.size());
        CHECK(onset.phase == attack.phases[onset.phase_index].phase);
        CHECK(onset.planned == toe_off + attack.begin_of(onset.phase_index));
        CHECK(onset.presented >= onset.planned);
        CHECK(onset.frame < window->counters().frames);
        if (i > 0) CHECK(onset.phase_index > onsets[i - 1].phase_index);
        if (i > 0) CHECK(onset.frame > onsets[i - 1].frame);
    }
    CHECK(window->counters().onsets_lost == 0);
}

TEST_CASE("a still stage is not drawn again") {
    const DummyScreen screen;
    auto window = StageWindow::open({.width = 320, .height = 180});
    REQUIRE(window);
    window->show(live({}));
    for (std::uint64_t i = 0; i < 2 * Cadence::warm_up_frames; ++i) {
        while (window->next_event()) {
        }
        window->frame();
    }
    const std::uint64_t drawn = window->counters().drawn;
    for (int i = 0; i < 10; ++i) window->frame();
    CHECK(window->counters().drawn == drawn);
    window->show(live({}));
    window->frame();
    CHECK(window->counters().drawn == drawn + 1);
}

TEST_CASE("space is a tap, escape and closing the window quit, other keys are told by name") {
    const DummyScreen screen;
    auto window = StageWindow::open({.width = 320, .height = 180});
    REQUIRE(window);
    while (window->next_event()) {
    }
    press(SDLK_SPACE);
    press(SDLK_n);
    press(SDLK_b);  // the window's own: dark or bright hall
    press(SDLK_f);
    press(SDLK_ESCAPE);
    SDL_Event closed{};
    closed.type = SDL_QUIT;
    SDL_PushEvent(&closed);
    const HostTime before = now();
    const auto tap = window->next_event();
    REQUIRE(tap);
    CHECK(tap->kind == StageEvent::Kind::tap);
    CHECK(tap->at >= before);
    const auto key = window->next_event();
    REQUIRE(key);
    CHECK(key->kind == StageEvent::Kind::key);
    CHECK(key->key == "N");
    const auto escape = window->next_event();
    REQUIRE(escape);
    CHECK(escape->kind == StageEvent::Kind::escape);
    const auto quit = window->next_event();
    REQUIRE(quit);
    CHECK(quit->kind == StageEvent::Kind::quit);
    CHECK_FALSE(window->next_event());
    window->frame();
}

TEST_CASE("no display and an impossible size are errors that say what to do") {
    setenv("SDL_VIDEODRIVER", "no_such_driver", 1);
    const auto none = StageWindow::open({});
    unsetenv("SDL_VIDEODRIVER");
    REQUIRE_FALSE(none);
    CHECK(none.error().kind == ErrorKind::device);
    CHECK(none.error().text().find("there is no stage") != std::string::npos);
    CHECK(none.error().to_do.find("go on without it") != std::string::npos);

    const auto tiny = StageWindow::open({.width = 3, .height = 2});
    REQUIRE_FALSE(tiny);
    CHECK(tiny.error().kind == ErrorKind::bad_input);
}
