#include "devices/audio/audio_device.hpp"

#include <SDL.h>
#include <SDL_mixer.h>

#include <atomic>
#include <chrono>
#include <utility>

namespace breakstep {
namespace {

constexpr int bytes_per_frame = 2 * static_cast<int>(sizeof(std::int16_t));

HostTime now() noexcept {
    return HostTime{std::chrono::duration_cast<Duration>(std::chrono::steady_clock::now().time_since_epoch())};
}

BREAKSTEP_REALTIME void hook(void* stream, Uint8* bytes, int length) noexcept {
    static_cast<AudioStream*>(stream)->block(reinterpret_cast<std::int16_t*>(bytes), length / bytes_per_frame, now());
}

tl::unexpected<Error> no_sound(const std::string& said) {
    return failure(ErrorKind::device, "the loudspeaker can't be used: " + said,
                   "go on without it, or connect a loudspeaker and start again");
}

std::uint32_t next_stream_number() {
    static std::atomic<std::uint32_t> openings{0};
    return openings.fetch_add(1);
}

}  // namespace

struct AudioDevice::Inside {
    AudioStream stream;
    int frames = 0;
    std::string driver;
    bool mixer_open = false;

    explicit Inside(CueMixer& mixer) : stream(mixer, next_stream_number()) {}
    ~Inside() {
        // Closing waits for the audio thread; only then may the stream go.
        if (mixer_open) Mix_CloseAudio();
        Mix_SetPostMix(nullptr, nullptr);
        SDL_QuitSubSystem(SDL_INIT_AUDIO);
    }
    Inside(const Inside&) = delete;
    Inside& operator=(const Inside&) = delete;
};

AudioDevice::AudioDevice(std::unique_ptr<Inside> inside) : inside_(std::move(inside)) {}
AudioDevice::AudioDevice(AudioDevice&&) noexcept = default;
AudioDevice& AudioDevice::operator=(AudioDevice&&) noexcept = default;
AudioDevice::~AudioDevice() = default;

Expected<AudioDevice> AudioDevice::open(CueMixer& mixer, const AudioSettings& settings) {
    if (settings.frames < 64 || settings.frames > 4096)
        return failure(ErrorKind::bad_input,
                       "an audio buffer of " + std::to_string(settings.frames) + " frames can't be used",
                       "set it between 64 and 4096");
    if (SDL_InitSubSystem(SDL_INIT_AUDIO) != 0) return no_sound(SDL_GetError());
    auto inside = std::make_unique<Inside>(mixer);
    inside->frames = settings.frames;
    // Before the device starts, so that no block passes uncounted: the stream's first frame is frame 0.
    Mix_SetPostMix(hook, &inside->stream);
    if (Mix_OpenAudioDevice(static_cast<int>(audio_frames_per_second), AUDIO_S16SYS, 2, settings.frames, nullptr, 0) !=
        0)
        return no_sound(Mix_GetError());
    inside->mixer_open = true;
    int rate = 0;
    int channels = 0;
    Uint16 format = 0;
    Mix_QuerySpec(&rate, &format, &channels);
    if (rate != audio_frames_per_second || format != AUDIO_S16SYS || channels != 2)
        return no_sound("the device does not take 48 kHz, 16 bits, stereo");
    const char* driver = SDL_GetCurrentAudioDriver();
    inside->driver = driver != nullptr ? driver : "unknown driver";
    return AudioDevice(std::move(inside));
}

std::optional<AudioBlock> AudioDevice::next_block() { return inside_->stream.next_block(); }

AudioCounters AudioDevice::counters() const { return inside_->stream.counters(); }

int AudioDevice::frames() const { return inside_->frames; }

std::string AudioDevice::describe() const {
    return inside_->driver + ", " + std::to_string(inside_->frames) + " frames of 48 kHz";
}

}  // namespace breakstep
