#include <utility>  // Boost 1.74's Asio needs it first under C++20

#include <boost/asio/io_context.hpp>
#include <boost/asio/posix/stream_descriptor.hpp>
#include <boost/asio/write.hpp>

#include <array>
#include <chrono>
#include <deque>

#include "devices/serial/port_setup.hpp"
#include "devices/serial/serial_port.hpp"

namespace breakstep {

HostTime host_now() {
    return HostTime(std::chrono::duration_cast<Duration>(std::chrono::steady_clock::now().time_since_epoch()));
}

struct SerialPort::State : std::enable_shared_from_this<State> {
    State(boost::asio::io_context& context, std::string port_path, const OpenedPort& opened, SerialCallbacks given)
        : path(std::move(port_path)),
          is_pty(opened.is_pty),
          slow_latency_timer(opened.slow_latency_timer),
          callbacks(std::move(given)),
          descriptor(context, opened.descriptor) {}

    struct Waiting {
        std::uint32_t frame;
        std::vector<std::uint8_t> bytes;
    };

    void read() {
        descriptor.async_read_some(boost::asio::buffer(buffer),
                                   [self = shared_from_this()](boost::system::error_code error, std::size_t size) {
                                       const HostTime arrived = host_now();
                                       if (self->closed) return;
                                       if (error) return self->fail(error);
                                       self->callbacks.on_bytes(arrived, {self->buffer.data(), size});
                                       if (!self->closed) self->read();
                                   });
    }

    void write_next() {
        if (waiting.empty() || writing || closed) return;
        writing = true;
        callbacks.on_sent(waiting.front().frame, host_now());
        boost::asio::async_write(descriptor, boost::asio::buffer(waiting.front().bytes),
                                 [self = shared_from_this()](boost::system::error_code error, std::size_t) {
                                     self->writing = false;
                                     if (error) return self->fail(error);
                                     if (!self->waiting.empty()) self->waiting.pop_front();
                                     self->write_next();
                                 });
    }

    void fail(boost::system::error_code error) {
        if (closed || error == boost::asio::error::operation_aborted) return;
        closed = true;
        close_port(descriptor.release());
        callbacks.on_closed(Error{ErrorKind::device, "the rig on " + path + " is gone (" + error.message() + ")",
                                  "check the cable; the set goes on when the rig is back"});
    }

    const std::string path;
    const bool is_pty, slow_latency_timer;
    SerialCallbacks callbacks;
    boost::asio::posix::stream_descriptor descriptor;
    std::array<std::uint8_t, 4096> buffer{};
    /// A line that nobody reads takes nothing any more: the oldest wait, newer ones are dropped.
    static constexpr std::size_t waiting_max = 256;
    std::deque<Waiting> waiting;
    std::uint64_t dropped = 0;
    bool writing = false, closed = false;
};

SerialPort::SerialPort(std::shared_ptr<State> state) : state_(std::move(state)) {}

SerialPort::~SerialPort() {
    if (state_->closed) return;
    state_->closed = true;
    close_port(state_->descriptor.release());
}

Expected<std::unique_ptr<SerialPort>> SerialPort::open(boost::asio::io_context& context, const std::string& path,
                                                       PortClaim claim, SerialCallbacks callbacks) {
    auto opened = open_port(path, claim);
    if (!opened) return tl::make_unexpected(opened.error());
    auto state = std::make_shared<State>(context, path, *opened, std::move(callbacks));
    state->read();
    return std::unique_ptr<SerialPort>(new SerialPort(std::move(state)));
}

void SerialPort::write(std::uint32_t frame, std::span<const std::uint8_t> bytes) {
    if (state_->closed) return;
    if (state_->waiting.size() >= State::waiting_max) {
        ++state_->dropped;
        return;
    }
    state_->waiting.push_back({frame, {bytes.begin(), bytes.end()}});
    state_->write_next();
}

const std::string& SerialPort::path() const { return state_->path; }
bool SerialPort::is_pty() const { return state_->is_pty; }
bool SerialPort::slow_latency_timer() const { return state_->slow_latency_timer; }
std::uint64_t SerialPort::dropped() const { return state_->dropped; }

}  // namespace breakstep
