// The bench in simulated time: the board advances only as far as the host has decided what to do. The cable can be
// pulled and plugged in again, and the board reset. Owned by a leg of the truth test; single thread.
#pragma once

#include "truth/bench.hpp"
#include "truth/usb_line.hpp"

namespace breakstep::tests {

class LockStepBench : public Bench {
  public:
    explicit LockStepBench(const LockStepSettings& settings);

    /// What is on its way is lost, and the host sees the port go.
    void pull_cable();
    void plug_in();
    /// The board's reset pin, at once: the cycle of it.
    std::uint64_t reset_board();

    /// Behind the slow timer the bound hangs on a few lucky pings: there is no promise of seconds, only that it comes.
    [[nodiscard]] Duration patience() const { return settings_.slow_latency_timer ? 60s : 10s; }

    [[nodiscard]] std::uint64_t damaged() const { return damaged_ + line_.damaged(); }

  private:
    bool step(HostTime limit) override;
    void write(const OutFrame& frame, HostTime now) override;
    [[nodiscard]] UsbLine new_line();

    LockStepSettings settings_;
    std::uint64_t lines_ = 0, damaged_ = 0;  ///< of the lines before this one
    UsbLine line_;
    bool plugged_ = true;
};

}  // namespace breakstep::tests
