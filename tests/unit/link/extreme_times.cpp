// Times that no clock shows: damaged captures hold them. Nothing overflows (run under UBSan), and readings of real
// clocks are not disturbed by them.
#include <doctest/doctest.h>

#include <array>
#include <limits>

#include "link/clock.hpp"

using namespace breakstep;

namespace {

constexpr std::array<std::int64_t, 9> extremes{std::numeric_limits<std::int64_t>::min(),
                                               std::numeric_limits<std::int64_t>::min() + 1,
                                               -(std::int64_t{1} << 60U),
                                               -1,
                                               0,
                                               1,
                                               (std::int64_t{1} << 60U) + 1,
                                               std::numeric_limits<std::int64_t>::max() - 1,
                                               std::numeric_limits<std::int64_t>::max()};

HostTime host(std::int64_t time) { return HostTime{Duration{time}}; }

}  // namespace

TEST_CASE("a sound stream's clock takes any frame and any time") {
    for (const std::int64_t frame : extremes)
        for (const std::int64_t time : extremes) {
            AudioClock clock;
            for (std::int64_t i = 0; i < 20; ++i)
                clock.callback(AudioFrame{i * 48'000}, host(5'000'000'000 + i * 1'000'000'000));
            REQUIRE(clock.has_fit());
            clock.callback(AudioFrame{frame}, host(time));
            (void)clock.host_time_from(AudioFrame{frame});
            (void)clock.audio_frame_from(host(time));
            AudioClock fresh;
            for (std::int64_t i = 0; i < 20; ++i) fresh.callback(AudioFrame{frame}, host(time));
            if (fresh.has_fit()) (void)fresh.host_time_from(AudioFrame{0});
        }
}

TEST_CASE("a rig's clock takes any time, and one beyond all clocks says nothing") {
    const BootId boot{3};
    for (const std::int64_t extreme : extremes) {
        RigClock clock;
        clock.begin(boot);
        for (std::int64_t i = 1; i < 50; ++i) {
            const TargetTime at(boot, Duration{i * 100'000'000});
            clock.was_at_earliest(at, host(9'000'000'000 + i * 100'000'000 - 100'000));
            clock.was_at_latest(at, host(9'000'000'000 + i * 100'000'000 + 100'000));
        }
        REQUIRE(clock.fit() == RigClock::Fit::fitted);
        (void)clock.target_time_from(host(extreme));
        (void)clock.host_time_from(TargetTime(boot, Duration{extreme}));
        const TargetTime next(boot, Duration{5'100'000'000});
        clock.was_at_latest(next, host(std::numeric_limits<std::int64_t>::max()));
        CHECK(clock.fit() == RigClock::Fit::fitted);
        CHECK(clock.host_time_from(next).bound < 1ms);
    }
}
