#include "devices/audio/audio_stream.hpp"

#include <atomic>
#include <boost/lockfree/policies.hpp>
#include <boost/lockfree/spsc_queue.hpp>

namespace breakstep {

struct AudioStream::Inside {
    CueMixer& mixer;
    const std::uint32_t stream;

    // The audio thread's own.
    std::int64_t frame = 0;
    HostTime last_asked{};
    Duration last_length{};

    Inside(CueMixer& the_mixer, std::uint32_t number) : mixer(the_mixer), stream(number) {}

    boost::lockfree::spsc_queue<AudioBlock, boost::lockfree::capacity<1024>> said;  // 5 s of 256 frames
    std::atomic<std::uint64_t> blocks{0};
    std::atomic<std::uint64_t> late_blocks{0};
    std::atomic<std::uint64_t> blocks_unsaid{0};

    BREAKSTEP_REALTIME void watch_for_gaps(int frames, HostTime asked_at) noexcept {
        if (frame > 0 && asked_at - last_asked > 3 * last_length) late_blocks.fetch_add(1, std::memory_order_relaxed);
        last_asked = asked_at;
        last_length = Duration{std::int64_t{frames} * 1'000'000'000 / audio_frames_per_second};
    }
};

AudioStream::AudioStream(CueMixer& mixer, std::uint32_t stream) : inside_(new Inside(mixer, stream)) {}

AudioStream::~AudioStream() = default;

BREAKSTEP_REALTIME void AudioStream::block(std::int16_t* stereo, int frames, HostTime asked_at) noexcept {
    Inside& in = *inside_;
    in.watch_for_gaps(frames, asked_at);
    const auto first = AudioFrame{in.frame};
    in.mixer.render(stereo, frames, first);
    if (!in.said.push({in.stream, first, frames, asked_at})) in.blocks_unsaid.fetch_add(1, std::memory_order_relaxed);
    in.blocks.fetch_add(1, std::memory_order_relaxed);
    in.frame += frames;
}

std::optional<AudioBlock> AudioStream::next_block() {
    AudioBlock block;
    if (!inside_->said.pop(block)) return std::nullopt;
    return block;
}

AudioCounters AudioStream::counters() const {
    return {.blocks = inside_->blocks.load(),
            .late_blocks = inside_->late_blocks.load(),
            .blocks_unsaid = inside_->blocks_unsaid.load()};
}

}  // namespace breakstep
