// The mixer alone: exact frames, any block size, several at once, saturating, nothing lost in silence.
#include "devices/audio/cue_mixer.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <string>
#include <vector>

#include "core/random.hpp"
#include "places.hpp"

using namespace breakstep;

namespace {

const SoundSet& sounds() {
    static const SoundSet set = [] {
        auto loaded = load_sounds(BREAKSTEP_SOURCE_DIR "/sounds");
        REQUIRE(loaded);
        return *loaded;
    }();
    return set;
}

/// What the speaker should get, summed the plain way; the mixer must agree with it sample by sample.
std::vector<std::int16_t> expected(const std::vector<CueOrder>& orders, std::size_t frames) {
    std::vector<long> sums(frames, 0);
    for (const CueOrder& order : orders) {
        const auto at = static_cast<std::size_t>(order.at);
        const auto& wave = sounds().wave(order.sound);
        for (std::size_t i = 0; i < wave.size() && at + i < frames; ++i) sums[at + i] += wave[i];
    }
    std::vector<std::int16_t> stereo;
    for (const long sum : sums)
        stereo.insert(stereo.end(), 2, static_cast<std::int16_t>(std::clamp(sum, -32768L, 32767L)));
    return stereo;
}

std::vector<std::int16_t> rendered(CueMixer& mixer, std::size_t frames, int block, std::int64_t first = 0) {
    std::vector<std::int16_t> stereo(2 * frames, 0);
    for (std::size_t done = 0; done < frames;) {
        const int now = static_cast<int>(std::min<std::size_t>(static_cast<std::size_t>(block), frames - done));
        mixer.render(stereo.data() + 2 * done, now, AudioFrame{first + static_cast<std::int64_t>(done)});
        done += static_cast<std::size_t>(now);
    }
    return stereo;
}

}  // namespace

TEST_CASE("cues start at their frames, error 0, whatever the buffer's size") {
    Random random(5);
    std::vector<CueOrder> orders;
    for (std::uint64_t id = 0; id < 40; ++id)
        orders.push_back({.id = id,
                          .sound = static_cast<CueSound>(random.below(cue_sound_count)),
                          .at = AudioFrame{random.below(90'000)}});
    constexpr std::size_t frames = 110'000;
    const auto should_be = expected(orders, frames);
    for (const int block : {1, 7, 240, 256, 480, 1024, 4096}) {
        CAPTURE(block);
        CueMixer mixer(sounds());
        for (const CueOrder& order : orders) REQUIRE(mixer.order(order));
        CHECK(rendered(mixer, frames, block) == should_be);
        std::vector<std::uint64_t> heard;
        AudioFrame last{0};
        while (const auto started = mixer.next_started()) {
            CHECK(started->started == started->planned);
            CHECK_FALSE(started->late);
            CHECK(started->started >= last);
            last = started->started;
            heard.push_back(started->id);
        }
        std::sort(heard.begin(), heard.end());
        REQUIRE(heard.size() == orders.size());
        for (std::uint64_t id = 0; id < orders.size(); ++id) CHECK(heard[id] == id);
        CHECK(mixer.counters().started == orders.size());
        CHECK(mixer.counters().late == 0);
    }
}

TEST_CASE("a cue whose frame has gone by starts at once and is counted as late") {
    CueMixer mixer(sounds());
    (void)rendered(mixer, 1000, 250);
    REQUIRE(mixer.order({.id = 9, .sound = CueSound::touchdown, .at = AudioFrame{400}}));
    const auto stereo = rendered(mixer, 500, 250, 1000);
    CHECK(stereo[0] == sounds().wave(CueSound::touchdown)[0]);
    const auto started = mixer.next_started();
    REQUIRE(started);
    CHECK(started->id == 9);
    CHECK(started->late);
    CHECK(started->planned == AudioFrame{400});
    CHECK(started->started == AudioFrame{1000});
    CHECK(mixer.counters().late == 1);
}

TEST_CASE("cues that were taken back stay silent, those under way play on") {
    CueMixer mixer(sounds());
    REQUIRE(mixer.order({.id = 1, .sound = CueSound::count, .at = AudioFrame{10}}));
    REQUIRE(mixer.order({.id = 2, .sound = CueSound::count, .at = AudioFrame{9000}}));
    REQUIRE(mixer.order({.id = 3, .sound = CueSound::good, .at = AudioFrame{20'000}}));
    auto stereo = rendered(mixer, 256, 256);
    REQUIRE(mixer.cancel(2));
    REQUIRE(mixer.cancel(77));  // no such order: nothing happens
    const auto rest = rendered(mixer, 40'000 - 256, 256, 256);
    stereo.insert(stereo.end(), rest.begin(), rest.end());
    CHECK(stereo == expected({{.id = 1, .sound = CueSound::count, .at = AudioFrame{10}},
                              {.id = 3, .sound = CueSound::good, .at = AudioFrame{20'000}}},
                             40'000));
    CHECK(mixer.counters().cancelled == 1);

    REQUIRE(mixer.order({.id = 4, .sound = CueSound::good, .at = AudioFrame{50'000}}));
    REQUIRE(mixer.cancel_all());
    const auto silent = rendered(mixer, 20'000, 256, 40'000);
    CHECK(std::all_of(silent.begin(), silent.end(), [](std::int16_t sample) { return sample == 0; }));
    CHECK(mixer.counters().cancelled == 2);
}

TEST_CASE("what is there already stays, the sum is held at the limit and counted") {
    CueMixer mixer(sounds());
    for (std::uint64_t id = 0; id < 4; ++id)
        REQUIRE(mixer.order({.id = id, .sound = CueSound::touchdown, .at = AudioFrame{0}}));
    std::vector<std::int16_t> stereo(2 * 6000, 1000);
    mixer.render(stereo.data(), 6000, AudioFrame{0});
    const auto& wave = sounds().wave(CueSound::touchdown);
    std::uint64_t held = 0;
    for (std::size_t i = 0; i < 6000; ++i) {
        const int sum = 1000 + (i < wave.size() ? 4 * wave[i] : 0);
        held += sum > 32767 || sum < -32768 ? 2 : 0;
        REQUIRE(stereo[2 * i] == std::clamp(sum, -32768, 32767));
        REQUIRE(stereo[2 * i + 1] == stereo[2 * i]);
    }
    CHECK(held > 0);
    CHECK(mixer.counters().saturated == held);
}

TEST_CASE("gain scales a cue and is kept between 0 and 1") {
    CueMixer mixer(sounds());
    REQUIRE(mixer.order({.id = 1, .sound = CueSound::good, .at = AudioFrame{0}, .gain = 0.5F}));
    REQUIRE(mixer.order({.id = 2, .sound = CueSound::good, .at = AudioFrame{20'000}, .gain = 7.0F}));
    REQUIRE(mixer.order({.id = 3, .sound = CueSound::good, .at = AudioFrame{40'000}, .gain = -1.0F}));
    const auto stereo = rendered(mixer, 60'000, 480);
    const auto& wave = sounds().wave(CueSound::good);
    for (std::size_t i = 0; i < wave.size(); ++i) {
        REQUIRE(stereo[2 * i] == wave[i] / 2);
        REQUIRE(stereo[2 * (20'000 + i)] == wave[i]);
        REQUIRE(stereo[2 * (40'000 + i)] == 0);
    }
}

TEST_CASE("too many orders are refused or counted, never lost in silence") {
    CueMixer mixer(sounds());
    int taken = 0;
    for (std::uint64_t id = 0; id < 300; ++id)
        taken += mixer.order({.id = id, .sound = CueSound::good, .at = AudioFrame{1'000'000}}) ? 1 : 0;
    CHECK(taken >= 255);
    CHECK(mixer.counters().refused == 300 - static_cast<std::uint64_t>(taken));
    (void)rendered(mixer, 256, 256);
    CHECK(mixer.counters().lost == static_cast<std::uint64_t>(taken - CueMixer::waiting_max));

    REQUIRE(mixer.cancel_all());
    for (std::uint64_t id = 0; id < 20; ++id)
        REQUIRE(mixer.order({.id = id, .sound = CueSound::bad, .at = AudioFrame{300}}));
    (void)rendered(mixer, 512, 256, 256);
    CHECK(mixer.counters().started == 20);
    CHECK(mixer.counters().cut_short == 20 - CueMixer::voices_max);
}

TEST_CASE("when nobody listens, the reports that did not fit are counted and the sound goes on") {
    CueMixer mixer(sounds());
    for (std::uint64_t id = 0; id < 300; ++id) {
        REQUIRE(
            mixer.order({.id = id, .sound = CueSound::count, .at = AudioFrame{static_cast<std::int64_t>(id) * 256}}));
        (void)rendered(mixer, 256, 256, static_cast<std::int64_t>(id) * 256);
    }
    CHECK(mixer.counters().started == 300);
    std::uint64_t said = 0;
    while (mixer.next_started()) ++said;
    CHECK(said + mixer.counters().started_unsaid == 300);
    CHECK(mixer.counters().started_unsaid > 0);
}
