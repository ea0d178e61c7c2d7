// The simulated board as a child process: the rig's real firmware, fed and read in lock-step, or paced on a
// pseudo-terminal.
//
// Speaks firmware-protocol/board/COMMANDS.md. Owned by a test, single thread. Whatever should not happen (no such
// program, a line not understood, the child gone) throws std::runtime_error, which fails the test that met it.
#pragma once

#include <sys/types.h>

#include <cstdint>
#include <cstdio>
#include <string>
#include <string_view>
#include <vector>

namespace breakstep::tests {

inline constexpr std::uint64_t cycles_per_second = 16'000'000;
inline constexpr std::uint64_t cycles_per_ms = 16'000;
inline constexpr std::uint64_t cycles_per_us = 16;
inline constexpr std::uint64_t cycles_per_byte = 320;
inline constexpr std::uint64_t cycles_per_tick = 8;

struct BoardOptions {
    std::uint64_t seed = 1;
    std::string memory;    ///< file of the board's EEPROM; "" for none
    bool paced = false;    ///< on a pseudo-terminal, at the pace of the wall clock
    double drift_ppm = 0;  ///< only paced: how much too fast its crystal is
};

struct BoardByte {
    std::uint64_t cycle = 0;  ///< it begins on the line; it has come in 320 cycles later
    std::uint8_t value = 0;
};
struct BoardLamps {
    std::uint64_t cycle = 0;
    std::uint8_t lit = 0;
};
struct BoardBoot {
    std::uint64_t cycle = 0, clock_zero = 0;
    std::string cause;
};

class BoardProcess {
  public:
    explicit BoardProcess(const BoardOptions& options);
    ~BoardProcess();
    BoardProcess(const BoardProcess&) = delete;
    BoardProcess& operator=(const BoardProcess&) = delete;

    /// Any command but `run` and `quit`.
    void command(std::string_view line);
    void pin(std::uint64_t at, std::string_view name, bool high);
    void gate(std::uint64_t at, unsigned gate, bool broken);
    void strike(std::uint64_t at, unsigned pad, double peak, double rise_us, double fall_ms);
    void reset(std::uint64_t at);
    void bytes(std::uint64_t at, const std::uint8_t* bytes, std::size_t size);

    /// Lock-step: to `until`, or to the end of the frame sent before it. Returns where it stopped.
    std::uint64_t run(std::uint64_t until);
    /// Paced: takes the lines that have come so far, without waiting.
    void poll();
    /// Ends the child and waits for it; its exit code is checked. Called by the destructor if not before.
    void finish();

    [[nodiscard]] std::uint64_t cycle() const { return cycle_; }
    [[nodiscard]] const std::vector<BoardBoot>& boots() const { return boots_; }
    [[nodiscard]] const std::vector<BoardLamps>& lamps() const { return lamps_; }
    std::vector<BoardByte> take_sent();
    /// Paced: the terminal, and the CLOCK_MONOTONIC time of cycle 0 in ns.
    [[nodiscard]] const std::string& terminal() const { return terminal_; }
    [[nodiscard]] std::int64_t started_ns() const { return started_ns_; }
    [[nodiscard]] std::uint64_t terminal_lost() const { return terminal_lost_; }
    /// After finish(): how many bytes stood unread in the receiver at most.
    [[nodiscard]] std::uint64_t deepest_receiver() const { return deepest_; }

  private:
    void write_out();
    bool read_line(std::string& line, bool wait);
    bool take(const std::string& line);
    void take_sent_line(const std::string& line);

    pid_t child_ = -1;
    int to_child_ = -1, from_child_ = -1;
    bool paced_;
    std::string out_, in_;
    std::size_t in_at_ = 0;
    std::uint64_t cycle_ = 0;
    std::vector<BoardBoot> boots_;
    std::vector<BoardLamps> lamps_;
    std::vector<BoardByte> sent_;
    std::string terminal_;
    std::int64_t started_ns_ = 0;
    std::uint64_t terminal_lost_ = 0, deepest_ = 0;
};

}  // namespace breakstep::tests
