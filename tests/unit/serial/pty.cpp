// The serial port over a real pair of pseudo-terminals: the test holds the far side.
#include <utility>  // Boost 1.74's Asio needs it first under C++20

#include <boost/asio/io_context.hpp>
#include <boost/asio/steady_timer.hpp>

#include <doctest/doctest.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <chrono>
#include <filesystem>
#include <fstream>
#include <numeric>

#include "devices/serial/serial_port.hpp"
#include "link/link.hpp"
#include "support/model_rig.hpp"
#include "unit/serial/far_side.hpp"

namespace breakstep::test {
namespace {

namespace asio = boost::asio;

std::vector<std::uint8_t> every_byte() {
    std::vector<std::uint8_t> bytes(256);
    std::iota(bytes.begin(), bytes.end(), std::uint8_t{0});
    return bytes;
}

TEST_CASE("every byte passes unchanged, both ways, and arrivals are stamped in order") {
    FarSide far;
    Told near;
    REQUIRE(near.open(far.path).has_value());
    CHECK(near.port->is_pty());
    CHECK_FALSE(near.port->slow_latency_timer());
    CHECK(near.port->path() == far.path);
    const HostTime before = host_now();
    far.send(every_byte());
    REQUIRE(near.run_until([&] { return near.bytes.size() >= 256; }));
    CHECK(near.bytes == every_byte());
    for (const HostTime arrival : near.arrivals) {
        CHECK(arrival >= before);
        CHECK(arrival <= host_now());
    }
    near.port->write(1, every_byte());
    std::vector<std::uint8_t> got;
    REQUIRE(near.run_until([&] {
        const auto more = far.receive();
        got.insert(got.end(), more.begin(), more.end());
        return got.size() >= 256;
    }));
    CHECK(got == every_byte());
}

TEST_CASE("frames go out in order, each stamped before it is written") {
    FarSide far;
    Told near;
    REQUIRE(near.open(far.path).has_value());
    std::vector<std::uint8_t> all;
    for (std::uint32_t frame = 1; frame <= 50; ++frame) {
        const std::vector<std::uint8_t> bytes(1 + frame % 30, static_cast<std::uint8_t>(frame));
        all.insert(all.end(), bytes.begin(), bytes.end());
        near.port->write(frame, bytes);
    }
    std::vector<std::uint8_t> got;
    REQUIRE(near.run_until([&] {
        const auto more = far.receive();
        got.insert(got.end(), more.begin(), more.end());
        return got.size() >= all.size();
    }));
    CHECK(got == all);
    REQUIRE(near.sent.size() == 50);
    for (std::uint32_t i = 0; i < 50; ++i) {
        CHECK(near.sent[i].first == i + 1);
        if (i > 0) CHECK(near.sent[i].second >= near.sent[i - 1].second);
    }
}

TEST_CASE("a port that is open is in use for everybody else, and free again afterwards") {
    FarSide far;
    {
        Told first;
        REQUIRE(first.open(far.path).has_value());
        Told second;
        const auto refused = second.open(far.path);
        REQUIRE_FALSE(refused.has_value());
        CHECK(refused.error().kind == ErrorKind::in_use);
        CHECK(refused.error().what.find(far.path) != std::string::npos);
        CHECK_FALSE(refused.error().to_do.empty());
    }
    Told third;
    CHECK(third.open(far.path).has_value());
}

TEST_CASE("a port that is not there is not found, and the message says what to do") {
    Told near;
    const auto missing = near.open("/dev/ttyBREAKSTEP_NONE");
    REQUIRE_FALSE(missing.has_value());
    CHECK(missing.error().kind == ErrorKind::not_found);
    CHECK(missing.error().what.find("/dev/ttyBREAKSTEP_NONE") != std::string::npos);
    CHECK_FALSE(missing.error().to_do.empty());
}

TEST_CASE("a file and a folder are no ports") {
    const auto folder = std::filesystem::temp_directory_path();
    const auto file = folder / ("no_port_" + std::to_string(getpid()));
    std::ofstream(file) << "text";
    Told near;
    const auto is_file = near.open(file.string());
    REQUIRE_FALSE(is_file.has_value());
    CHECK(is_file.error().kind == ErrorKind::device);
    CHECK_FALSE(is_file.error().to_do.empty());
    CHECK_FALSE(near.open(folder.string()).has_value());
    std::filesystem::remove(file);
}

TEST_CASE("without permission the message names the group to join") {
    if (geteuid() == 0) {
        MESSAGE("skipped: everything is permitted to root");
        return;
    }
    FarSide far;
    REQUIRE(chmod(far.path.c_str(), 0) == 0);
    Told near;
    const auto refused = near.open(far.path);
    REQUIRE_FALSE(refused.has_value());
    CHECK(refused.error().kind == ErrorKind::system);
    CHECK(refused.error().to_do.find("dialout") != std::string::npos);
}

TEST_CASE("a link to a port opens the port") {
    FarSide far;
    const auto link = std::filesystem::temp_directory_path() / ("port_link_" + std::to_string(getpid()));
    std::filesystem::remove(link);
    std::filesystem::create_symlink(far.path, link);
    Told near;
    CHECK(near.open(link.string()).has_value());
    std::filesystem::remove(link);
}

TEST_CASE("when the other side hangs up the port says so once, and what to do") {
    FarSide far;
    Told near;
    REQUIRE(near.open(far.path).has_value());
    far.hang_up();
    REQUIRE(near.run_until([&] { return !near.closed.empty(); }));
    near.port->write(1, every_byte());
    near.context.restart();
    near.context.run_for(std::chrono::milliseconds(20));
    REQUIRE(near.closed.size() == 1);
    CHECK(near.closed[0].kind == ErrorKind::device);
    CHECK(near.closed[0].what.find(far.path) != std::string::npos);
    CHECK_FALSE(near.closed[0].to_do.empty());
}

TEST_CASE("what waits in the input when the port is opened is thrown away") {
    FarSide far;
    far.send(every_byte());
    Told near;
    REQUIRE(near.open(far.path).has_value());
    const std::uint8_t fresh[] = {7, 8, 9};
    far.send(fresh);
    REQUIRE(near.run_until([&] { return near.bytes.size() >= 3; }));
    CHECK(near.bytes == std::vector<std::uint8_t>{7, 8, 9});
}

TEST_CASE("a line that nobody reads neither blocks nor grows without end") {
    FarSide far;
    Told near;
    REQUIRE(near.open(far.path).has_value());
    const std::vector<std::uint8_t> frame(30, 0x55);
    for (std::uint32_t i = 0; i < 5000; ++i) {
        near.port->write(i, frame);
        near.context.restart();
        near.context.poll();
    }
    CHECK(near.port->dropped() > 1000);
    CHECK(near.closed.empty());
    // Once it is read again, whole frames come on.
    std::vector<std::uint8_t> got;
    REQUIRE(near.run_until([&] {
        const auto more = far.receive();
        got.insert(got.end(), more.begin(), more.end());
        return got.size() >= (5000 - near.port->dropped()) * frame.size();
    }));
    CHECK(got.size() == (5000 - near.port->dropped()) * frame.size());
}

TEST_CASE("a port that is let go tells nothing more") {
    FarSide far;
    Told near;
    REQUIRE(near.open(far.path).has_value());
    far.send(every_byte());
    near.port->write(1, every_byte());
    const std::size_t sent = near.sent.size();
    near.port.reset();
    near.context.restart();
    near.context.run_for(std::chrono::milliseconds(20));
    CHECK(near.bytes.empty());
    CHECK(near.closed.empty());
    CHECK(near.sent.size() == sent);
}

TEST_CASE("the ports of this computer can be listed, USB ports first") {
    const auto ports = candidate_ports();
    REQUIRE(ports.has_value());
    bool others_began = false;
    for (const PortInfo& port : *ports) {
        CHECK_FALSE(port.path.empty());
        others_began = others_began || port.usb_vendor < 0;
        if (others_began) CHECK(port.usb_vendor < 0);
    }
}

/// A rig behind the far side, moved on whenever the loop turns.
class LiveRig {
  public:
    explicit LiveRig(FarSide& far) : far_(far), rig({}, 1) { rig.power_on(host_now()); }
    void turn() {
        const auto received = far_.receive();
        rig.bytes(host_now(), received);
        rig.due(host_now());
        std::vector<ModelRig::Frame> frames;
        rig.take_frames(frames);
        for (const ModelRig::Frame& frame : frames) far_.send(frame);
    }

  private:
    FarSide& far_;

  public:
    ModelRig rig;
};

TEST_CASE("a link over a real pty finds the rig, fits its clock and tells every event") {
    FarSide far;
    LiveRig live(far);
    asio::io_context context;
    Link link({}, 1);
    SerialCallbacks callbacks;
    callbacks.on_bytes = [&](HostTime arrived, std::span<const std::uint8_t> bytes) { link.bytes(arrived, bytes); };
    callbacks.on_sent = [&](std::uint32_t frame, HostTime at) { link.sent(FrameId{frame}, at); };
    callbacks.on_closed = [](const Error&) {};
    auto port = SerialPort::open(context, far.path, PortClaim::named, std::move(callbacks));
    REQUIRE(port.has_value());
    link.port_opened(host_now());
    std::vector<LinkEvent> told;
    const auto turn = [&] {
        live.turn();
        context.restart();
        context.run_for(std::chrono::milliseconds(1));
        if (link.next_due() && *link.next_due() <= host_now()) link.due(host_now());
        std::vector<OutFrame> frames;
        link.drain(frames);
        for (const OutFrame& frame : frames) {
            (*port)->write(static_cast<std::uint32_t>(frame.id), {frame.bytes.data(), frame.size});
        }
        link.take(told);
    };
    const auto end = std::chrono::steady_clock::now() + std::chrono::seconds(20);
    std::uint16_t struck = 0;
    const auto hits = [&] {
        return std::count_if(told.begin(), told.end(),
                             [](const LinkEvent& e) { return std::holds_alternative<PadHit>(e); });
    };
    while (std::chrono::steady_clock::now() < end && hits() < 30) {
        turn();
        if (link.connected() && struck < 30) live.rig.strike(host_now(), 0, ++struck);
    }
    CHECK(hits() == 30);
    CHECK(link.counters().clock_jumps == 0);
    CHECK(link.counters().damaged == 0);
    CHECK(link.counters().lost == 0);
    const auto there = link.target_time_from(host_now());
    REQUIRE(there.has_value());
    MESSAGE("bound " << there->bound.count() / 1000 << " us after " << link.counters().replies << " replies");
}

}  // namespace
}  // namespace breakstep::test
