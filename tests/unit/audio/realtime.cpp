// The whole body of the audio callback, watched for allocation: malloc and its kin are counted while it runs.
#include <doctest/doctest.h>

#include <atomic>
#include <cstdlib>
#include <memory>
#include <thread>
#include <vector>

#include "devices/audio/audio_stream.hpp"
#include "places.hpp"

namespace {

thread_local bool watched = false;
std::atomic<int> allocations{0};

void count_if_watched() noexcept {
    if (watched) allocations.fetch_add(1);
}

}  // namespace

#if defined(__SANITIZE_ADDRESS__) || defined(__SANITIZE_THREAD__)
extern "C" int __sanitizer_install_malloc_and_free_hooks(void (*)(const volatile void*, std::size_t),
                                                         void (*)(const volatile void*));
namespace {
void install_watch() {
    static const int installed =
        __sanitizer_install_malloc_and_free_hooks([](const volatile void*, std::size_t) { count_if_watched(); },
                                                  [](const volatile void*) { count_if_watched(); });
    REQUIRE(installed != 0);
}
}  // namespace
#else
// The C library's own functions stand behind these (glibc), so operator new, SDL and everything else pass through here.
extern "C" {
void* __libc_malloc(std::size_t);
void* __libc_calloc(std::size_t, std::size_t);
void* __libc_realloc(void*, std::size_t);
void __libc_free(void*);

void* malloc(std::size_t size) noexcept {
    count_if_watched();
    return __libc_malloc(size);
}
void* calloc(std::size_t count, std::size_t size) noexcept {
    count_if_watched();
    return __libc_calloc(count, size);
}
void* realloc(void* old, std::size_t size) noexcept {
    count_if_watched();
    return __libc_realloc(old, size);
}
void free(void* memory) noexcept {
    count_if_watched();
    __libc_free(memory);
}
}
namespace {
void install_watch() {}
}  // namespace
#endif

using namespace breakstep;

TEST_CASE("the watch for allocations sees them") {
    install_watch();
    allocations = 0;
    watched = true;
    auto something = std::make_unique<std::vector<int>>(1000);
    watched = false;
    CHECK(allocations.load() >= 2);
    allocations = 0;
    watched = true;
    something.reset();
    watched = false;
    CHECK(allocations.load() >= 2);
}

TEST_CASE("the audio callback neither allocates nor frees, however much it has to do") {
    install_watch();
    auto sounds = load_sounds(BREAKSTEP_SOURCE_DIR "/sounds");
    REQUIRE(sounds);
    CueMixer mixer(*sounds);
    AudioStream stream(mixer, 3);
    allocations = 0;

    // Orders come from another thread while blocks are rendered, more than fit anywhere; nobody fetches the reports.
    std::atomic<std::int64_t> rendered{0};
    std::atomic<bool> done{false};
    std::thread engine([&] {
        std::uint64_t id = 0;
        while (!done.load()) {
            for (int i = 0; i < 400; ++i, ++id)
                (void)mixer.order({.id = id,
                                   .sound = static_cast<CueSound>(id % cue_sound_count),
                                   .at = AudioFrame{rendered.load() + static_cast<std::int64_t>(id % 30) * 40}});
            (void)mixer.cancel(id - 1);
            std::this_thread::yield();
        }
    });
    std::vector<std::int16_t> buffer(2 * 480);
    std::uint64_t blocks = 0;
    while (blocks < 3000 || mixer.counters().started < 1000) {
        watched = true;
        stream.block(buffer.data(), 480, HostTime{Duration{static_cast<std::int64_t>(blocks++) * 10'000'000}});
        watched = false;
        rendered += 480;
    }
    done = true;
    engine.join();
    CHECK(allocations.load() == 0);
    CHECK(stream.counters().blocks == blocks);
    CHECK(stream.counters().blocks_unsaid == blocks - 1024);
}

TEST_CASE("blocks are said with their first frame and their host time, and a gap of more than three buffers is late") {
    auto sounds = load_sounds(BREAKSTEP_SOURCE_DIR "/sounds");
    REQUIRE(sounds);
    CueMixer mixer(*sounds);
    AudioStream stream(mixer, 7);
    std::vector<std::int16_t> buffer(2 * 480);
    const HostTime start{Duration{5'000'000'000}};
    stream.block(buffer.data(), 480, start);
    stream.block(buffer.data(), 240, start + 10ms);
    stream.block(buffer.data(), 480, start + 15ms);
    stream.block(buffer.data(), 480, start + 45ms);
    CHECK(stream.counters().late_blocks == 0);
    stream.block(buffer.data(), 480, start + 76ms);
    CHECK(stream.counters().late_blocks == 1);

    const std::int64_t firsts[] = {0, 480, 720, 1200, 1680};
    const Duration times[] = {0ms, 10ms, 15ms, 45ms, 76ms};
    for (int i = 0; i < 5; ++i) {
        const auto block = stream.next_block();
        REQUIRE(block);
        CHECK(block->stream == 7);
        CHECK(block->first == AudioFrame{firsts[i]});
        CHECK(block->frames == (i == 1 ? 240 : 480));
        CHECK(block->asked_at == start + times[i]);
    }
    CHECK_FALSE(stream.next_block());
}
