// How long an event takes over a real pty: from the rig's write to the engine's record, against an idle echo between
// two threads over another pty, interleaved in one run. And how long it takes from opening a port to a clock good
// enough for cues. The rig here is the smallest that the protocol allows.
#include <benchmark/benchmark.h>
#include <fcntl.h>
#include <poll.h>
#include <pty.h>
#include <termios.h>
#include <unistd.h>

#include <algorithm>
#include <atomic>
#include <chrono>
#include <string>
#include <thread>
#include <vector>

#include "devices/serial/serial_port.hpp"
#include "hall/drivers/live_cues.hpp"
#include "hall/drivers/live_driver.hpp"
#include "store/memory_journal.hpp"
#include "wire/wire.h"

using namespace breakstep;

namespace {

struct Pty {
    Pty() {
        char name[256];
        if (openpty(&near_end, &far_end, name, nullptr, nullptr) != 0) std::abort();
        termios raw{};
        tcgetattr(far_end, &raw);
        cfmakeraw(&raw);
        tcsetattr(far_end, TCSANOW, &raw);
        path = name;
    }
    ~Pty() {
        close(near_end);
        close(far_end);
    }
    int near_end = -1, far_end = -1;
    std::string path;
};

// One pad and one gate; answers greetings and pings, and breaks the gate when told to.
class SmallRig {
  public:
    explicit SmallRig(const Pty& pty) : end_(pty.near_end), thread_([this] { serve(); }) {}
    ~SmallRig() {
        over_ = true;
        thread_.join();
    }
    /// From writing a hello to having read the acknowledgement that answers it.
    Duration ask_and_wait() {
        answered_ = 0;
        const HostTime at = host_now();
        send(hello());
        while (answered_ == 0) std::this_thread::yield();
        return Duration(answered_) - at.time_since_epoch();
    }
    /// Returns when the frame was written.
    HostTime break_gate() {
        wire_message event{};
        event.type = ++sequence_ % 2 == 1 ? WIRE_GATE_BROKEN : WIRE_GATE_RESTORED;
        event.sequence = sequence_;
        event.time = ticks();
        const HostTime at = host_now();
        send(event);
        return at;
    }

  private:
    [[nodiscard]] static std::uint64_t ticks() {
        return static_cast<std::uint64_t>(host_now().time_since_epoch().count() / WIRE_TICK_NS);
    }
    [[nodiscard]] wire_message hello() const {
        wire_message message{};
        message.type = WIRE_HELLO;
        message.as.hello = {WIRE_VERSION_MAJOR,
                            WIRE_VERSION_MINOR,
                            1,
                            1,
                            1,
                            1,
                            0,
                            0,
                            sequence_,
                            static_cast<std::uint16_t>(sequence_ + 1)};
        return message;
    }
    void send(const wire_message& message) const {
        std::uint8_t frame[WIRE_FRAME_MAX];
        const std::size_t size = wire_encode_frame(&message, frame);
        if (write(end_, frame, size) != static_cast<ssize_t>(size)) std::abort();
    }
    void serve() {
        wire_receiver receiver{};
        std::uint8_t bytes[512];
        while (!over_) {
            pollfd waiting{end_, POLLIN, 0};
            if (poll(&waiting, 1, 5) <= 0) continue;
            const ssize_t got = read(end_, bytes, sizeof bytes);
            for (ssize_t i = 0; i < got; ++i) {
                wire_message message{};
                if (wire_receive(&receiver, bytes[i], &message) == WIRE_RECEIVED_MESSAGE) answer(message);
            }
        }
    }
    void answer(const wire_message& message) {
        wire_message reply{};
        if (message.type == WIRE_ACKNOWLEDGE) answered_ = host_now().time_since_epoch().count();
        if (message.type == WIRE_HELLO_REQUEST) {
            send(hello());
            for (const std::uint8_t kind : {WIRE_KIND_PAD, WIRE_KIND_GATE}) {
                reply = {};
                reply.type = WIRE_CHANNEL;
                reply.as.channel = {kind, 0, 0, 0, 40};
                send(reply);
            }
            reply = {};
            reply.type = WIRE_SNAPSHOT;
            reply.as.snapshot = {ticks(), 0, 0, sequence_};
            send(reply);
        } else if (message.type == WIRE_PING) {
            reply.type = WIRE_PING_REPLY;
            const std::uint64_t received = ticks();
            reply.as.ping_reply = {message.as.ping.id, 1, received, ticks(), sequence_};
            send(reply);
        }
    }

    int end_;
    std::atomic<bool> over_{false};
    std::atomic<std::uint16_t> sequence_{0};
    std::atomic<std::int64_t> answered_{0};
    std::thread thread_;
};

// A thread that gives each byte back, and one that waits for it as SmallRig waits: what the machine itself needs.
class Echo {
  public:
    explicit Echo(const Pty& pty) : pty_(pty), far_([this] { give_back(); }), near_([this] { wait(); }) {}
    ~Echo() {
        over_ = true;
        const char byte = 0;
        if (write(pty_.near_end, &byte, 1) != 1) std::abort();
        far_.join();
        near_.join();
    }
    Duration once() {
        arrived_ = 0;
        const char byte = 1;
        const HostTime at = host_now();
        if (write(pty_.near_end, &byte, 1) != 1) std::abort();
        while (arrived_ == 0) std::this_thread::yield();
        return Duration(arrived_) - at.time_since_epoch();
    }

  private:
    void give_back() {
        char byte = 0;
        while (read(pty_.far_end, &byte, 1) == 1 && !over_)
            if (write(pty_.far_end, &byte, 1) != 1) std::abort();
    }
    void wait() {
        char bytes[512];
        while (!over_) {
            pollfd waiting{pty_.near_end, POLLIN, 0};
            if (poll(&waiting, 1, 5) <= 0) continue;
            if (read(pty_.near_end, bytes, sizeof bytes) > 0) arrived_ = host_now().time_since_epoch().count();
        }
    }
    const Pty& pty_;
    std::atomic<bool> over_{false};
    std::atomic<std::int64_t> arrived_{0};
    std::thread far_, near_;
};

double median_us(std::vector<Duration>& values) {
    std::nth_element(values.begin(), values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2), values.end());
    return static_cast<double>(values[values.size() / 2].count()) / 1e3;
}

LiveCues no_cues() {
    LiveCues::Wanted nothing;
    nothing.sound = nothing.stage = false;
    return LiveCues(nothing);
}

void answer_over_a_pty(benchmark::State& state) {
    const Pty rig_pty, echo_pty;
    SmallRig rig(rig_pty);
    Echo echo(echo_pty);
    MemoryJournal journal;
    LiveCues cues = no_cues();
    LiveSettings settings;
    settings.port = rig_pty.path;
    LiveDriver driver(settings, journal, cues, nullptr);
    std::atomic<std::int64_t> recorded{0};
    std::atomic<std::int64_t> ready_us{0};
    driver.on_rig_answer = [&](const LinkEvent& answer) {
        if (std::holds_alternative<GateEdge>(answer)) recorded = host_now().time_since_epoch().count();
    };
    driver.on_ready = [&](const Engine&, Duration since) {
        ready_us = std::max<std::int64_t>(1, since.count() / 1000);
    };
    driver.watch();
    while (ready_us == 0) std::this_thread::sleep_for(std::chrono::milliseconds(1));
    std::vector<Duration> events, answers, echoes;
    constexpr auto idle = std::chrono::microseconds(300);
    for (auto _ : state) {
        recorded = 0;
        const HostTime at = rig.break_gate();
        while (recorded == 0) std::this_thread::yield();
        events.push_back(Duration(recorded) - at.time_since_epoch());
        std::this_thread::sleep_for(idle);
        answers.push_back(rig.ask_and_wait());
        std::this_thread::sleep_for(idle);
        echoes.push_back(echo.once());
        std::this_thread::sleep_for(idle);
    }
    driver.stop();
    while (!driver.finished()) std::this_thread::sleep_for(std::chrono::milliseconds(1));
    const double answer = median_us(answers), byte = median_us(echoes);
    state.counters["answer_median_us"] = answer;
    state.counters["echo_median_us"] = byte;
    state.counters["ratio"] = answer / byte;
    state.counters["one_way_median_us"] = median_us(events);
    state.counters["ready_ms"] = static_cast<double>(ready_us) / 1000;
}
BENCHMARK(answer_over_a_pty)->Iterations(3000)->Unit(benchmark::kMicrosecond);

}  // namespace
