#include <fcntl.h>
#include <sys/ioctl.h>
#include <termios.h>
#include <time.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <stdexcept>

#include "truth/bench.hpp"

namespace breakstep::tests {
namespace {

HostTime wall() {
    timespec now{};
    clock_gettime(CLOCK_MONOTONIC, &now);
    return HostTime(Duration(static_cast<std::int64_t>(now.tv_sec) * 1'000'000'000 + now.tv_nsec));
}

EngineSettings engine_settings(std::uint64_t seed) {
    EngineSettings engine;
    engine.seed = seed;
    // The board's pseudo-terminal keeps the time of a serial line: a byte comes out when its last bit has passed.
    engine.link.byte_time = 20us;
    engine.devices.sound = true;
    engine.sound_delay = CueDelay{SoundStream::delay, SoundStream::delay_spread};
    return engine;
}

class PacedBench final : public Bench {
  public:
    PacedBench(std::uint64_t seed, double drift) : Bench(engine_settings(seed), {seed, "", true, drift * 1e6}, seed) {
        terminal_ = open(board_.terminal().c_str(), O_RDWR | O_NOCTTY | O_NONBLOCK | O_CLOEXEC);
        termios settings{};
        if (terminal_ < 0 || tcgetattr(terminal_, &settings) != 0)
            throw std::runtime_error("cannot open " + board_.terminal());
        cfmakeraw(&settings);
        tcsetattr(terminal_, TCSANOW, &settings);
        tcflush(terminal_, TCIFLUSH);
        begin(TrueTime(HostTime(Duration(board_.started_ns())), drift), wall());
    }
    ~PacedBench() override {
        if (terminal_ >= 0) close(terminal_);
    }

  private:
    bool step(HostTime limit) override {
        const HostTime next = std::min({limit, next_own_due(), wall() + 1ms});
        const Duration wait = std::clamp(Duration(next - wall()), Duration{}, Duration{100us});
        const timespec span{0, static_cast<long>(wait.count())};
        clock_nanosleep(CLOCK_MONOTONIC, 0, &span, nullptr);
        // Asking first is cheap; reading or polling an empty terminal waits for the kernel's worker, under load for
        // long.
        int waiting = 0;
        if (ioctl(terminal_, FIONREAD, &waiting) == 0 && waiting > 0) {
            std::array<std::uint8_t, 512> bytes{};
            const ssize_t got = read(terminal_, bytes.data(), bytes.size());
            now_ = wall();
            board_.poll();
            if (got > 0) engine_.bytes(now_, {bytes.data(), static_cast<std::size_t>(got)});
        }
        now_ = wall();
        board_.poll();
        take_own_due(now_);
        return now_ < limit;
    }

    void write(const OutFrame& frame, HostTime) override {
        engine_.sent(frame.id, wall());
        const ssize_t written = ::write(terminal_, frame.bytes.data(), frame.size);
        if (written != frame.size) throw std::runtime_error("the pseudo-terminal took no frame");
    }

    int terminal_ = -1;
};

}  // namespace

LegReport run_paced(std::uint64_t seed, double drift, int lamp_reps, int sound_reps) {
    PacedBench bench(seed, drift);
    bench.connect();
    for (const auto& [cue, wanted] : {std::pair{CueKind::lamps, lamp_reps}, std::pair{CueKind::sound, sound_reps}}) {
        for (int tries = 0; tries < 5 && bench.scored(cue) < wanted; ++tries)
            bench.run_session(cue, wanted - bench.scored(cue));
    }
    return bench.report();
}

}  // namespace breakstep::tests
