// The one-sided envelope of the sound stream: callbacks are only ever late.
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>

#include "core/random.hpp"
#include "link/clock.hpp"

namespace breakstep::test {
namespace {

constexpr std::int64_t block = 256;

/// A sound device: its crystal against the host's, and how late each callback is (ns).
class SoundDevice {
  public:
    SoundDevice(double excess, std::uint64_t seed) : excess_(excess), random_(seed, 3) {}

    [[nodiscard]] double on_time(double frame) const { return start_ + frame / 48'000 * 1e9 * (1 + excess_); }
    /// Scheduling costs some tens of us; one wake-up in a hundred comes up to 5 ms late.
    double lateness() {
        if (is_coarse) return random_.uniform(0, 3e6);
        return random_.exponential(60e3) + (random_.chance(0.01) ? random_.uniform(0, 5e6) : 0);
    }
    void play(AudioClock& clock, int callbacks) {
        for (int i = 0; i < callbacks; ++i, frame_ += block) {
            called_ = std::max(called_, on_time(static_cast<double>(frame_)) + lateness());
            clock.callback(AudioFrame{frame_}, HostTime{Duration{static_cast<std::int64_t>(called_)}});
        }
    }
    void underrun(double by) { start_ += by; }
    /// Woken by a coarse timer instead: late by anything up to 3 ms.
    bool is_coarse = false;
    [[nodiscard]] std::int64_t frame() const { return frame_; }

  private:
    double excess_, start_ = 77e9, called_ = 0;
    std::int64_t frame_ = 0;
    Random random_;
};

double error(const AudioClock& clock, const SoundDevice& device, std::int64_t frame) {
    const auto told = static_cast<double>(clock.host_time_from(AudioFrame{frame}).at.time_since_epoch().count());
    return told - device.on_time(static_cast<double>(frame));
}

struct Held {
    std::uint64_t probes = 0, inside = 0;
    double widest_late = 0;  ///< ns, after half a minute
};

Held follow(bool is_coarse) {
    Held held;
    for (std::uint64_t seed = 1; seed <= 40; ++seed) {
        Random random(seed, 8);
        SoundDevice device(random.uniform(-100e-6, 100e-6), seed);
        device.is_coarse = is_coarse;
        AudioClock clock;
        device.play(clock, 200);
        REQUIRE(clock.has_fit());
        for (int i = 0; i < 600; ++i) {
            device.play(clock, 10);
            // Cues are placed about 100 ms ahead.
            const std::int64_t frame = device.frame() + 4800;
            const HostReading told = clock.host_time_from(AudioFrame{frame});
            ++held.probes;
            held.inside += std::fabs(error(clock, device, frame)) <= static_cast<double>(told.bound.count()) ? 1 : 0;
            if (i > 500) held.widest_late = std::max(held.widest_late, static_cast<double>(told.bound.count()));
        }
        CHECK(clock.moves() == 0);
    }
    MESSAGE("inside: " << 100.0 * static_cast<double>(held.inside) / static_cast<double>(held.probes) << " % of "
                       << held.probes << "; widest bound after half a minute " << held.widest_late / 1e3 << " us");
    return held;
}

TEST_CASE("the sound stream's bound holds the truth 99 times in 100, from the first second on") {
    const Held quick = follow(false);
    CHECK(quick.inside * 100 >= quick.probes * 99);
    CHECK(quick.widest_late < 50e3);
    const Held coarse = follow(true);
    CHECK(coarse.inside * 100 >= coarse.probes * 99);
    CHECK(coarse.widest_late < 500e3);
}

TEST_CASE("a frame's host time leads back to the frame") {
    SoundDevice device(37e-6, 5);
    AudioClock clock;
    device.play(clock, 2000);
    for (std::int64_t frame = device.frame() - 48'000; frame < device.frame() + 48'000; frame += 997) {
        const AudioReading back = clock.audio_frame_from(clock.host_time_from(AudioFrame{frame}).at);
        CHECK(back.at == AudioFrame{frame});
    }
}

TEST_CASE("after an underrun the stream is found again where it is now") {
    SoundDevice device(-20e-6, 6);
    AudioClock clock;
    device.play(clock, 4000);
    CHECK(clock.moves() == 0);
    device.underrun(30e6);
    device.play(clock, 1000);
    CHECK(clock.moves() == 1);
    REQUIRE(clock.has_fit());
    CHECK(std::fabs(error(clock, device, device.frame())) < 500e3);
}

TEST_CASE("two callbacks at once when the device opens do no harm") {
    AudioClock clock;
    SoundDevice device(10e-6, 7);
    // The device fills its second buffer at once: that frame is early, and so is every later one by the same time.
    clock.callback(AudioFrame{-block}, HostTime{Duration{static_cast<std::int64_t>(device.on_time(0)) - 100'000}});
    device.play(clock, 1000);
    CHECK(std::fabs(error(clock, device, device.frame())) < 500e3);
}

}  // namespace
}  // namespace breakstep::test
