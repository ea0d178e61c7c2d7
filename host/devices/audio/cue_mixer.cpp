#include "devices/audio/cue_mixer.hpp"

#include <algorithm>
#include <array>
#include <atomic>
#include <boost/lockfree/policies.hpp>
#include <boost/lockfree/spsc_queue.hpp>
#include <limits>
#include <utility>

namespace breakstep {
namespace {

constexpr int gain_one = 1 << 15;

struct Request {
    enum class Kind : std::uint8_t { order, cancel, cancel_all };
    Kind kind = Kind::order;
    CueOrder order{};
};

struct Voice {
    const std::int16_t* next = nullptr;  // nullptr: free
    const std::int16_t* end = nullptr;
    int silent_frames = 0;  // until it begins, within the block under way
    int gain = gain_one;
    std::uint64_t turn = 0;  // the smaller, the older
};

using Count = std::atomic<std::uint64_t>;

void add_one(Count& count) noexcept { count.fetch_add(1, std::memory_order_relaxed); }

}  // namespace

struct CueMixer::Inside {
    boost::lockfree::spsc_queue<Request, boost::lockfree::capacity<256>> requests;
    boost::lockfree::spsc_queue<CueStarted, boost::lockfree::capacity<256>> started_queue;

    // The audio thread's own.
    std::array<CueOrder, waiting_max> waiting{};
    int waiting_count = 0;
    std::array<Voice, voices_max> voices{};
    std::uint64_t turn = 0;

    Count started{0}, late{0}, cancelled{0}, refused{0}, lost{0}, cut_short{0}, started_unsaid{0}, saturated{0};

    bool request(const Request& request) {
        if (requests.push(request)) return true;
        add_one(refused);
        return false;
    }

    BREAKSTEP_REALTIME void take_requests() noexcept {
        Request request;
        while (requests.pop(request)) {
            switch (request.kind) {
                case Request::Kind::order:
                    if (waiting_count == waiting_max)
                        add_one(lost);
                    else
                        waiting[waiting_count++] = request.order;
                    break;
                case Request::Kind::cancel:
                    take_back([&](const CueOrder& order) { return order.id == request.order.id; });
                    break;
                case Request::Kind::cancel_all:
                    take_back([](const CueOrder&) { return true; });
                    break;
            }
        }
    }

    template <class Which>
    BREAKSTEP_REALTIME void take_back(Which which) noexcept {
        for (int i = 0; i < waiting_count;) {
            if (which(waiting[i])) {
                waiting[i] = waiting[--waiting_count];
                add_one(cancelled);
            } else {
                ++i;
            }
        }
    }

    /// The earliest order that begins before `end`, or -1.
    [[nodiscard]] BREAKSTEP_REALTIME int earliest_before(std::int64_t end) const noexcept {
        int best = -1;
        for (int i = 0; i < waiting_count; ++i) {
            const auto at = static_cast<std::int64_t>(waiting[i].at);
            if (at < end && (best < 0 || waiting[i].at < waiting[best].at)) best = i;
        }
        return best;
    }

    BREAKSTEP_REALTIME Voice& free_voice() noexcept {
        auto oldest = voices.begin();
        for (auto voice = voices.begin(); voice != voices.end(); ++voice) {
            if (voice->next == nullptr) return *voice;
            if (voice->turn < oldest->turn) oldest = voice;
        }
        add_one(cut_short);
        return *oldest;
    }

    BREAKSTEP_REALTIME void start(const CueOrder& order, std::int64_t first, const SoundSet& sounds) noexcept {
        const auto planned = static_cast<std::int64_t>(order.at);
        const bool is_late = planned < first;
        const std::vector<std::int16_t>& wave = sounds.wave(order.sound);
        const float gain = std::clamp(order.gain, 0.0F, 1.0F);
        free_voice() = {.next = wave.data(),
                        .end = wave.data() + wave.size(),
                        .silent_frames = is_late ? 0 : static_cast<int>(planned - first),
                        .gain = static_cast<int>(gain * gain_one),
                        .turn = turn++};
        add_one(started);
        if (is_late) add_one(late);
        const CueStarted report{order.id, order.sound, order.at, is_late ? AudioFrame{first} : order.at, is_late};
        if (!started_queue.push(report)) add_one(started_unsaid);
    }

    /// Adds every voice's share of at most `chunk` frames to `stereo`.
    BREAKSTEP_REALTIME void mix(std::int16_t* stereo, int chunk, std::int32_t* sums) noexcept {
        std::fill(sums, sums + chunk, 0);
        for (Voice& voice : voices) {
            if (voice.next == nullptr) continue;
            const int skip = std::min(voice.silent_frames, chunk);
            voice.silent_frames -= skip;
            const auto left = static_cast<int>(std::min<std::ptrdiff_t>(voice.end - voice.next, chunk - skip));
            for (int i = 0; i < left; ++i) sums[skip + i] += voice.next[i] * voice.gain / gain_one;
            voice.next += left;
            if (voice.next == voice.end) voice.next = nullptr;
        }
        constexpr std::int32_t low = std::numeric_limits<std::int16_t>::min();
        constexpr std::int32_t high = std::numeric_limits<std::int16_t>::max();
        std::uint64_t held = 0;
        for (int i = 0; i < 2 * chunk; ++i) {
            const std::int32_t sum = stereo[i] + sums[i / 2];
            const std::int32_t limited = std::clamp(sum, low, high);
            held += limited != sum ? 1 : 0;
            stereo[i] = static_cast<std::int16_t>(limited);
        }
        if (held > 0) saturated.fetch_add(held, std::memory_order_relaxed);
    }
};

CueMixer::CueMixer(SoundSet sounds) : sounds_(std::move(sounds)), inside_(new Inside) {}

CueMixer::~CueMixer() = default;

bool CueMixer::order(const CueOrder& order) { return inside_->request({Request::Kind::order, order}); }

bool CueMixer::cancel(std::uint64_t id) {
    CueOrder order;
    order.id = id;
    return inside_->request({Request::Kind::cancel, order});
}

bool CueMixer::cancel_all() { return inside_->request({Request::Kind::cancel_all, {}}); }

std::optional<CueStarted> CueMixer::next_started() {
    CueStarted started;
    if (!inside_->started_queue.pop(started)) return std::nullopt;
    return started;
}

MixerCounters CueMixer::counters() const {
    const Inside& in = *inside_;
    return {.started = in.started.load(),
            .late = in.late.load(),
            .cancelled = in.cancelled.load(),
            .refused = in.refused.load(),
            .lost = in.lost.load(),
            .cut_short = in.cut_short.load(),
            .started_unsaid = in.started_unsaid.load(),
            .saturated = in.saturated.load()};
}

BREAKSTEP_REALTIME void CueMixer::render(std::int16_t* stereo, int frames, AudioFrame first_frame) noexcept {
    constexpr int chunk_max = 256;
    std::array<std::int32_t, chunk_max> sums;
    Inside& in = *inside_;
    const auto first = static_cast<std::int64_t>(first_frame);
    in.take_requests();
    for (int due = in.earliest_before(first + frames); due >= 0; due = in.earliest_before(first + frames)) {
        in.start(in.waiting[due], first, sounds_);
        in.waiting[due] = in.waiting[--in.waiting_count];
    }
    for (int done = 0; done < frames;) {
        const int chunk = std::min(frames - done, chunk_max);
        in.mix(stereo + std::ptrdiff_t{2} * done, chunk, sums.data());
        done += chunk;
    }
}

}  // namespace breakstep
