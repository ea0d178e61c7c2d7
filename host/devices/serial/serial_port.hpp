// The byte transport to a rig: a serial port of this computer, or a pseudo-terminal. Bytes are stamped as early as
// possible after the read, frames as late as possible before the write. Ports are found by libserialport; Asio owns the
// descriptor once it is set up.
//
// One owner, on the thread that runs the io_context; the callbacks come on that thread too. The port is ours alone
// while it is open (a lock; on serial ports TIOCEXCL too). A port that says nothing stays open. After `on_closed`
// nothing more comes and the object may be destroyed (not from inside the callback: post it).
#pragma once

#include <cstdint>
#include <functional>
#include <memory>
#include <span>
#include <string>
#include <vector>

#include "core/error.hpp"
#include "core/time.hpp"

namespace boost::asio {
class io_context;
}

namespace breakstep {

/// A serial port of this computer.
struct PortInfo {
    std::string path;                                ///< "/dev/ttyACM0"
    std::string description;                         ///< as the adapter tells it; may be empty
    std::string serial;                              ///< the adapter's serial number; may be empty
    std::int32_t usb_vendor = -1, usb_product = -1;  ///< -1: not a USB port
};

/// Every port on which a rig may be: USB ports first, then the others. Fails (system) if they can't be listed.
[[nodiscard]] Expected<std::vector<PortInfo>> candidate_ports();

/// Why this path is opened: somebody named it, or it was found (a search; a name at which a rig once was). What was
/// only found is left alone if it looks like another program's terminal: some process's controlling one, or a pty not
/// raw.
enum class PortClaim : std::uint8_t { named, found };

/// Whether `path`, or what it links to, is a pseudo-terminal: no wire, and its bytes take no time.
[[nodiscard]] bool leads_to_pty(const std::string& path);

struct SerialCallbacks {
    std::function<void(HostTime arrived, std::span<const std::uint8_t> bytes)> on_bytes;
    /// Just before the first byte of the write that carries this frame goes out.
    std::function<void(std::uint32_t frame, HostTime at)> on_sent;
    /// Once: the port failed or the other side hung up.
    std::function<void(const Error& why)> on_closed;
};

class SerialPort {
  public:
    /// Opens `path` at 500,000 baud, 8N1, raw. Errors: not_found (no such port), in_use, device (no terminal, or the
    /// speed or raw mode is not kept), system (permission, and all else); each says what to do.
    [[nodiscard]] static Expected<std::unique_ptr<SerialPort>> open(boost::asio::io_context& context,
                                                                    const std::string& path, PortClaim claim,
                                                                    SerialCallbacks callbacks);
    /// Gives what was written 50 ms to leave; never waits for a device that takes nothing.
    ~SerialPort();
    SerialPort(const SerialPort&) = delete;
    SerialPort& operator=(const SerialPort&) = delete;

    /// Queues a frame; frames go out in order. Never blocks: while 256 wait on a line that takes nothing, further ones
    /// are dropped and counted.
    void write(std::uint32_t frame, std::span<const std::uint8_t> bytes);

    [[nodiscard]] const std::string& path() const;
    /// No wire: bytes arrive at once and take no time.
    [[nodiscard]] bool is_pty() const;
    /// The adapter hands bytes over every 16 ms and could not be told otherwise.
    [[nodiscard]] bool slow_latency_timer() const;
    [[nodiscard]] std::uint64_t dropped() const;

  private:
    struct State;
    explicit SerialPort(std::shared_ptr<State> state);
    std::shared_ptr<State> state_;
};

/// The host's clock, as every driver reads it: steady_clock.
[[nodiscard]] HostTime host_now();

}  // namespace breakstep
