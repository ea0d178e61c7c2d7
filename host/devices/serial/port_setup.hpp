// Opening and setting up a descriptor, apart from reading and writing it. Called by SerialPort alone, on its thread.
//
// The lock is taken before anything else touches the port, so that a second program (root's too) changes nothing on a
// line that runs. What is set is read back: a port that does not keep it is refused.
#pragma once

#include <string>

#include "core/error.hpp"
#include "devices/serial/serial_port.hpp"

namespace breakstep {

/// How a path is set up. A pty needs no baud, and must not be marked exclusive: that mark would outlive us.
enum class PortWay : std::uint8_t { serial_line, pty };

struct OpenedPort {
    int descriptor = -1;  ///< non-blocking, owned by the caller
    bool is_pty = false;
    bool slow_latency_timer = false;
};

/// Links (/dev/serial/by-id/...) are followed.
[[nodiscard]] Expected<OpenedPort> open_port(const std::string& path, PortClaim claim);
/// The same for a device whose way is known.
[[nodiscard]] Expected<OpenedPort> open_device(const std::string& device, PortWay way, PortClaim claim);

/// Closes it without waiting for a device that takes nothing: what was written has 50 ms to leave, the rest is dropped.
/// (The kernel would wait 30 s for it.)
void close_port(int descriptor);

}  // namespace breakstep
