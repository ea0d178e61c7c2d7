// The controller that runs the firmware: simavr, fed at exact cycles. Owned by the program's one thread.
//
// It corrects what simavr does unlike silicon: readings of the converter are taken 1.5 converter clocks after the
// start, not when they are read; a received byte is there when its last bit has come in, at 320 cycles a byte and not
// 352; a pin keeps its level though the program writes the port. simavr takes 64 timers at most, so all inputs stand in
// one queue behind one timer.
#pragma once

#include <array>
#include <cstdint>
#include <functional>
#include <map>
#include <string>
#include <vector>

#include "pad_signal.hpp"

struct avr_t;
struct avr_irq_t;
struct avr_uart_t;
struct avr_timer_t;

namespace board {

enum class Input : std::uint8_t { gate0, gate1, gate2, gate3, gate4, gate5, sync, solo };
inline constexpr std::uint64_t cycles_per_byte = 320;  // 500,000 baud at 16 MHz, 10 bits
inline constexpr std::size_t pad_count = 4;

struct SentByte {
    std::uint64_t cycle = 0;
    std::uint8_t value = 0;
};
struct LampChange {
    std::uint64_t cycle = 0;
    std::uint8_t lit = 0;
};
enum class Cause : std::uint8_t { power, reset, watchdog };
struct Boot {
    std::uint64_t cycle = 0, clock_zero = 0;
    Cause cause{};
};

class Controller {
  public:
    /// Throws std::runtime_error if the firmware can't be read.
    Controller(const std::string& firmware, std::uint64_t seed);
    ~Controller();
    Controller(const Controller&) = delete;
    Controller& operator=(const Controller&) = delete;

    [[nodiscard]] std::uint64_t cycle() const;

    void pin(std::uint64_t at, Input input, bool high);
    void strike(std::size_t pad, const Blow& blow) { pads_[pad].strike(blow); }
    void rest(std::uint64_t at, std::size_t pad, double level);
    void noise(std::uint64_t at, std::size_t pad, std::uint32_t amplitude);
    /// Begins on the line at `at`, or when the byte before has passed.
    void byte(std::uint64_t at, std::uint8_t value);
    void reset(std::uint64_t at);
    void hang(std::uint64_t at);

    /// Runs until `end`, or, if `stop_at_frame`, until a zero byte was sent. Past `end` by an instruction at most.
    void run(std::uint64_t end, bool stop_at_frame);

    /// What happened since they were taken last.
    std::vector<SentByte> take_sent();
    std::vector<LampChange> take_lamps();
    std::vector<Boot> take_boots();

    [[nodiscard]] std::size_t deepest_receiver() const { return deepest_; }
    [[nodiscard]] std::vector<std::uint8_t> memory() const;
    void set_memory(const std::vector<std::uint8_t>& bytes);

  private:
    struct Hooks;
    friend struct Hooks;
    using Action = std::function<void()>;

    void at(std::uint64_t when, Action action);
    [[nodiscard]] std::uint64_t next_stop() const;
    void arm();
    void do_due();
    void apply_pins();
    void hold_pins();
    void offer_byte();
    void look_at_clock();

    avr_t* avr_ = nullptr;
    avr_uart_t* uart_ = nullptr;
    avr_timer_t* timer_ = nullptr;
    avr_irq_t* adc_ = nullptr;
    Noise noise_;
    std::array<PadSignal, pad_count> pads_;
    std::array<bool, 8> inputs_{false, false, false, false, false, false, false, true};
    std::multimap<std::uint64_t, Action> queue_;
    static constexpr std::uint64_t never = UINT64_MAX;
    std::uint64_t armed_for_ = never;
    std::uint64_t stop_ = never;
    bool doing_ = false;
    bool timers_gone_ = true;
    std::multimap<std::uint64_t, std::uint8_t> incoming_;  ///< by the cycle at which the last bit has come in
    std::uint64_t line_free_ = 0, line_out_free_ = 0;
    bool offering_ = false;
    std::size_t deepest_ = 0;
    std::vector<SentByte> sent_;
    std::vector<LampChange> lamps_;
    std::vector<Boot> boots_;
    bool frame_ended_ = false;
    std::uint8_t lit_ = 0;
    bool hung_ = false;
    bool clock_unknown_ = true;
    std::uint64_t reset_cycle_ = 0;
    Cause cause_ = Cause::power;
    bool resetting_ = false;
    void (*controller_reset_)(avr_t*) = nullptr;
    void (*normal_run_)(avr_t*) = nullptr;
    void (*flag_writer_)(avr_t*, std::uint16_t, std::uint8_t, void*) = nullptr;
};

}  // namespace board
