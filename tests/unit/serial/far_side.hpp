// A pair of pseudo-terminals whose far side a test holds, and a port with what it told.
#pragma once

#include <utility>  // Boost 1.74's Asio needs it first under C++20

#include <boost/asio/io_context.hpp>

#include <doctest/doctest.h>
#include <fcntl.h>
#include <pty.h>
#include <termios.h>
#include <unistd.h>

#include <array>
#include <chrono>
#include <memory>
#include <span>
#include <string>
#include <vector>

#include "devices/serial/serial_port.hpp"

namespace breakstep::test {

/// A pair of pseudo-terminals; the near side is opened by its path, like a port.
class FarSide {
  public:
    FarSide() {
        std::array<char, 256> name{};
        int near = -1;
        REQUIRE(openpty(&far_, &near, name.data(), nullptr, nullptr) == 0);
        path = name.data();
        ::close(near);
        fcntl(far_, F_SETFL, fcntl(far_, F_GETFL) | O_NONBLOCK);
    }
    ~FarSide() { hang_up(); }
    FarSide(const FarSide&) = delete;
    FarSide& operator=(const FarSide&) = delete;

    std::string path;

    void send(std::span<const std::uint8_t> bytes) {
        REQUIRE(::write(far_, bytes.data(), bytes.size()) == static_cast<ssize_t>(bytes.size()));
    }
    /// Whatever has come so far.
    std::vector<std::uint8_t> receive() {
        std::vector<std::uint8_t> all;
        std::array<std::uint8_t, 4096> some{};
        for (;;) {
            const ssize_t size = ::read(far_, some.data(), some.size());
            if (size <= 0) return all;
            all.insert(all.end(), some.begin(), some.begin() + size);
        }
    }
    /// The near side's settings, as another program would leave or find them.
    void leave(const termios& settings) { REQUIRE(tcsetattr(far_, TCSANOW, &settings) == 0); }
    [[nodiscard]] termios settings() const {
        termios now{};
        REQUIRE(tcgetattr(far_, &now) == 0);
        return now;
    }
    void hang_up() {
        if (far_ >= 0) ::close(far_);
        far_ = -1;
    }

  private:
    int far_ = -1;
};

/// A port with what it told, in order.
struct Told {
    boost::asio::io_context context;
    std::vector<std::uint8_t> bytes;
    std::vector<HostTime> arrivals;
    std::vector<std::pair<std::uint32_t, HostTime>> sent;
    std::vector<Error> closed;
    std::unique_ptr<SerialPort> port;

    Expected<void> open(const std::string& path) {
        SerialCallbacks callbacks;
        callbacks.on_bytes = [this](HostTime arrived, std::span<const std::uint8_t> received) {
            arrivals.push_back(arrived);
            bytes.insert(bytes.end(), received.begin(), received.end());
        };
        callbacks.on_sent = [this](std::uint32_t frame, HostTime at) { sent.push_back({frame, at}); };
        callbacks.on_closed = [this](const Error& why) { closed.push_back(why); };
        auto opened = SerialPort::open(context, path, PortClaim::named, std::move(callbacks));
        if (!opened) return tl::make_unexpected(opened.error());
        port = std::move(*opened);
        return {};
    }
    /// Runs until `condition` holds; ten seconds are long enough for any machine, and never waited for in vain.
    template <class Condition>
    bool run_until(Condition condition) {
        const auto end = std::chrono::steady_clock::now() + std::chrono::seconds(10);
        while (!condition()) {
            if (std::chrono::steady_clock::now() > end) return false;
            context.restart();
            context.run_one_for(std::chrono::milliseconds(5));
        }
        return true;
    }
};

}  // namespace breakstep::test
