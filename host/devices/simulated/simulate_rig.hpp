// A simulated rig on a real pseudo-terminal, as `breakstep simulate-rig` and live drills on it run it: the same
// SimulatedTarget as in the fast driver, driven by the monotonic clock.
//
// The far side of the pty is held open here, so that a host may leave and come back. What nobody reads is dropped by
// whole frames once the pty and 8 KiB more are full, and counted; the rig goes on stamping. Each rig runs on one
// thread: the caller's for serve_simulated_rig(), its own for SimulatedRig.
#pragma once

#include <cstdint>
#include <functional>
#include <iosfwd>
#include <memory>
#include <optional>
#include <string>

#include "core/error.hpp"
#include "core/time.hpp"
#include "devices/simulated/simulated_target.hpp"

namespace breakstep {

struct SimulateRigOptions {
    std::optional<AthleteSettings> athlete;  ///< none: nobody strikes
    std::uint64_t seed = 1;
    bool partner = false;                    ///< with a lamp for the partner and a gate for their hands
    double drift_ppm = 40;  ///< -200 .. 200
    double damage = 0;      ///< share of frames damaged, each way, 0 .. 1
    std::optional<Duration> reset_after;
    std::optional<Duration> ends_after;  ///< none: until SIGINT, SIGTERM or SIGHUP
};

/// Writes "rig at PATH" and a line's end to `out`, then runs the rig until the time is over or the process is asked to
/// end (SIGINT, SIGTERM, SIGHUP). Fails (system) if no pty can be had.
[[nodiscard]] Expected<void> serve_simulated_rig(const SimulateRigOptions& options, std::ostream& out);

/// The same inside this process, on a thread of its own; `ends_after` is ignored. Destroying it ends it.
class SimulatedRig {
  public:
    [[nodiscard]] static Expected<SimulatedRig> open(const SimulateRigOptions& options);
    ~SimulatedRig();
    SimulatedRig(SimulatedRig&&) noexcept;
    SimulatedRig& operator=(SimulatedRig&&) noexcept;

    /// The pty to open as a port.
    [[nodiscard]] const std::string& path() const;
    /// Another athlete steps up. Any thread.
    void set_athlete(const AthleteSettings& settings);
    /// Runs `use` on the rig's thread, with the time there. Any thread; returns at once.
    void post(std::function<void(SimulatedTarget& target, HostTime now)> use);
    /// Bytes that nobody fetched in time. Any thread.
    [[nodiscard]] std::uint64_t dropped() const;

  private:
    struct State;
    explicit SimulatedRig(std::unique_ptr<State> state);
    std::unique_ptr<State> state_;
};

}  // namespace breakstep
