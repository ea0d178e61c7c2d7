// The device, on SDL's disk driver: it writes exactly what was mixed into a raw file, so the onset of every cue can be
// read back sample by sample. Its pace is not real time; nothing here is.
#include <doctest/doctest.h>
#include <unistd.h>

#include <algorithm>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <string>
#include <vector>

#include "core/random.hpp"
#include "devices/audio/audio_device.hpp"
#include "places.hpp"

using namespace breakstep;

namespace {

std::vector<std::int16_t> left_channel(const std::string& path) {
    std::ifstream file(path, std::ios::binary);
    std::vector<std::int16_t> left;
    std::int16_t frame[2];
    while (file.read(reinterpret_cast<char*>(frame), sizeof frame)) left.push_back(frame[0]);
    return left;
}

/// Where sound begins after at least `silence` frames of nothing: found in the samples alone.
std::vector<std::int64_t> onsets_in(const std::vector<std::int16_t>& wave, int silence) {
    std::vector<std::int64_t> onsets;
    int quiet = silence;
    for (std::size_t i = 0; i < wave.size(); ++i) {
        if (wave[i] == 0) {
            ++quiet;
            continue;
        }
        if (quiet >= silence) onsets.push_back(static_cast<std::int64_t>(i));
        quiet = 0;
    }
    return onsets;
}

struct DiskDriver {
    std::string path;
    DiskDriver() {
        path = (std::filesystem::temp_directory_path() / ("breakstep-audio-" + std::to_string(getpid()) + ".raw"))
                   .string();
        setenv("SDL_AUDIODRIVER", "disk", 1);
        setenv("SDL_DISKAUDIOFILE", path.c_str(), 1);
        setenv("SDL_DISKAUDIODELAY", "1", 1);  // ms a buffer
    }
    ~DiskDriver() {
        unsetenv("SDL_AUDIODRIVER");
        unsetenv("SDL_DISKAUDIOFILE");
        unsetenv("SDL_DISKAUDIODELAY");
        std::filesystem::remove(path);
    }
};

void wait_for_frames(AudioDevice& device, std::int64_t frames, std::vector<AudioBlock>& blocks) {
    while (blocks.empty() || static_cast<std::int64_t>(blocks.back().first) + blocks.back().frames < frames) {
        while (const auto block = device.next_block()) blocks.push_back(*block);
        usleep(1000);  // only so as not to burn the core; the count of frames decides
    }
}

}  // namespace

TEST_CASE("with the disk driver every cue of a drill starts at its planned frame, error 0 samples") {
    const DiskDriver disk;
    const auto sounds = load_sounds(BREAKSTEP_SOURCE_DIR "/sounds");
    REQUIRE(sounds);
    for (const int frames : {240, 256, 480, 1024}) {
        CAPTURE(frames);
        // A drill as far as sound is concerned: 72 cues, over a quarter of a second apart, at odd frames.
        Random random(static_cast<std::uint64_t>(frames));
        // The first is at frame 0: SDL writes whole buffers of silence until it starts the stream, and the first onset
        // shows how many.
        std::vector<std::int64_t> planned;
        std::int64_t at = 0;
        CueMixer mixer(*sounds);
        std::vector<CueOrder> orders;
        for (std::uint64_t id = 0; id < 72; ++id) {
            planned.push_back(at);
            orders.push_back({.id = id, .sound = static_cast<CueSound>(id % cue_sound_count), .at = AudioFrame{at}});
            at += 12'600 + random.below(1500);
        }
        // Most of them before the device runs, the rest while it does, each some seconds of sound ahead.
        std::size_t next = 0;
        while (next < CueMixer::waiting_max) REQUIRE(mixer.order(orders[next++]));
        std::vector<AudioBlock> blocks;
        {
            auto device = AudioDevice::open(mixer, {.frames = frames});
            REQUIRE_MESSAGE(device, device.error().text());
            CHECK(device->describe() == "disk, " + std::to_string(frames) + " frames of 48 kHz");
            for (; next < orders.size(); ++next) {
                wait_for_frames(*device, planned[next - 32], blocks);
                REQUIRE(mixer.order(orders[next]));
            }
            wait_for_frames(*device, at + 20'000, blocks);
            CHECK(device->counters().blocks_unsaid == 0);
        }
        const auto found = onsets_in(left_channel(disk.path), 500);
        REQUIRE(found.size() == planned.size());
        const std::int64_t stream_begin = found[0];
        CHECK(stream_begin % frames == 0);
        for (std::size_t i = 0; i < found.size(); ++i) CHECK(found[i] - stream_begin - planned[i] == 0);
        std::size_t confirmed = 0;
        for (; const auto started = mixer.next_started(); ++confirmed) {
            CHECK(started->started == AudioFrame{planned[started->id]});
            CHECK_FALSE(started->late);
        }
        CHECK(confirmed == planned.size());
        std::int64_t frame = 0;
        for (std::size_t i = 0; i < blocks.size(); ++i) {
            REQUIRE(blocks[i].first == AudioFrame{frame});
            REQUIRE(blocks[i].frames == frames);
            REQUIRE((i == 0 || blocks[i].asked_at >= blocks[i - 1].asked_at));
            frame += blocks[i].frames;
        }
    }
}

TEST_CASE("each opening is a stream of its own") {
    const DiskDriver disk;
    const auto sounds = load_sounds(BREAKSTEP_SOURCE_DIR "/sounds");
    REQUIRE(sounds);
    CueMixer mixer(*sounds);
    std::vector<AudioBlock> first;
    std::vector<AudioBlock> second;
    {
        auto device = AudioDevice::open(mixer, {});
        REQUIRE(device);
        wait_for_frames(*device, 1000, first);
    }
    {
        auto device = AudioDevice::open(mixer, {.frames = 480});
        REQUIRE(device);
        wait_for_frames(*device, 1000, second);
    }
    CHECK(second.front().stream == first.front().stream + 1);
    CHECK(second.front().first == AudioFrame{0});
    CHECK(second.front().frames == 480);
}

TEST_CASE("no sound device is an error that says so, not an end") {
    const auto sounds = load_sounds(BREAKSTEP_SOURCE_DIR "/sounds");
    REQUIRE(sounds);
    CueMixer mixer(*sounds);
    setenv("SDL_AUDIODRIVER", "no_such_driver", 1);
    const auto device = AudioDevice::open(mixer, {});
    unsetenv("SDL_AUDIODRIVER");
    REQUIRE_FALSE(device);
    CHECK(device.error().kind == ErrorKind::device);
    CHECK(device.error().text().find("the loudspeaker can't be used") != std::string::npos);

    const auto too_small = AudioDevice::open(mixer, {.frames = 16});
    REQUIRE_FALSE(too_small);
    CHECK(too_small.error().kind == ErrorKind::bad_input);
}
