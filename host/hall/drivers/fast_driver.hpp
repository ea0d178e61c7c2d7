// The fast driver: runs the engine against a simulated target in virtual time, as fast as the machine can. The same
// seed gives the same journal. Events are taken in the order (time, kind, order of arrival), bytes before timers; a
// byte takes 20 us on the line; sound is mixed every 256 virtual frames; the journal is inline.
//
// One thread. Owned by a command or a test.
#pragma once

#include <memory>

#include "devices/simulated/simulated_target.hpp"
#include "hall/drivers/driver_core.hpp"
#include "hall/drivers/virtual_cues.hpp"

namespace breakstep {

class FastDriver {
  public:
    /// Virtual time begins at `begin`. All arguments must outlive this; `capture` may be null.
    FastDriver(const EngineSettings& settings, SimulatedTarget& target, Journal& journal, VirtualCues& cues,
               CaptureWriter* capture, HostTime begin);

    /// Runs until the session is over. Fails (device) if it has not ended after `longest` of virtual time.
    [[nodiscard]] Expected<SessionEnd> run(const SessionBegan& session, const SceneNames& names, Duration longest);
    /// The next moment at which anything happens, but not after `last`: false if it is `last` and nothing did.
    bool advance(HostTime last);
    /// Lets virtual time pass outside sessions.
    void pass(Duration time);

    [[nodiscard]] HostTime now() const { return now_; }
    [[nodiscard]] DriverCore& core() { return core_; }

  private:
    /// Takes everything of the earliest moment that lies not after `last`; false if there is none.
    bool step(HostTime last);
    void write(const OutFrame& frame);

    SimulatedTarget& target_;
    VirtualCues& cues_;
    HostTime now_;
    bool plugged_ = true;
    std::vector<std::uint8_t> chunk_;
    DriverCore core_;
};

}  // namespace breakstep
