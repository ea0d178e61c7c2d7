// How a port is set up and let go, on pseudo-terminals that go the way of a serial line.
#include <doctest/doctest.h>
#include <sys/ioctl.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cerrno>
#include <chrono>
#include <csignal>

#include "devices/serial/port_setup.hpp"
#include "unit/serial/far_side.hpp"

namespace breakstep::test {
namespace {

/// As a serial port's driver and a program before us may leave a line: empty reads return at once and look like the
/// end.
termios as_a_driver_leaves_it(termios settings) {
    settings.c_lflag = ICANON | ECHO | ISIG;
    settings.c_iflag = ICRNL | IXON | IXOFF | INPCK;
    settings.c_oflag = OPOST | ONLCR;
    settings.c_cflag |= CSTOPB | CRTSCTS;
    settings.c_cflag &= ~static_cast<tcflag_t>(HUPCL);
    settings.c_cc[VMIN] = 0;
    settings.c_cc[VTIME] = 0;
    cfsetspeed(&settings, B9600);
    return settings;
}

TEST_CASE("a line is set raw whole, whatever was left on it, and its reads wait for a byte") {
    FarSide far;
    far.leave(as_a_driver_leaves_it(far.settings()));
    const auto opened = open_device(far.path, PortWay::serial_line, PortClaim::named);
    REQUIRE(opened.has_value());
    const termios now = far.settings();
    CHECK(now.c_cc[VMIN] == 1);
    CHECK(now.c_cc[VTIME] == 0);
    CHECK((now.c_lflag & (ICANON | ECHO | ISIG | IEXTEN)) == 0);
    CHECK((now.c_iflag & (ICRNL | IXON | IXOFF | IXANY | INPCK | ISTRIP)) == 0);
    CHECK((now.c_oflag & OPOST) == 0);
    CHECK((now.c_cflag & (CSTOPB | CRTSCTS)) == 0);
    CHECK((now.c_cflag & (CREAD | CLOCAL | HUPCL)) == (CREAD | CLOCAL | HUPCL));
    CHECK(cfgetospeed(&now) == B500000);
    // No input is not the end: nothing to read is "try again", never 0.
    std::uint8_t byte = 0;
    CHECK(::read(opened->descriptor, &byte, 1) == -1);
    CHECK(errno == EAGAIN);
    // No other program gets in (root's may, so it is asked).
    int exclusive = 0;
    CHECK(ioctl(opened->descriptor, TIOCGEXCL, &exclusive) == 0);
    CHECK(exclusive == 1);
    close_port(opened->descriptor);
}

TEST_CASE("a second program changes nothing on a line that runs, not even root's") {
    FarSide far;
    const auto first = open_device(far.path, PortWay::pty, PortClaim::named);
    REQUIRE(first.has_value());
    // A mode that nobody sets: it would show if it were touched.
    termios odd = far.settings();
    odd.c_cc[VMIN] = 7;
    far.leave(odd);
    for (const PortWay way : {PortWay::serial_line, PortWay::pty}) {
        const auto second = open_device(far.path, way, PortClaim::named);
        REQUIRE_FALSE(second.has_value());
        CHECK(second.error().kind == ErrorKind::in_use);
        CHECK(far.settings().c_cc[VMIN] == 7);
    }
    close_port(first->descriptor);
}

TEST_CASE("a port that takes nothing is closed without a wait") {
    FarSide far;
    Told near;
    REQUIRE(near.open(far.path).has_value());
    const std::vector<std::uint8_t> frame(30, 0x55);
    for (std::uint32_t i = 0; i < 1000; ++i) {
        near.port->write(i, frame);
        near.context.restart();
        near.context.poll();
    }
    const auto begin = std::chrono::steady_clock::now();
    near.port.reset();
    CHECK(std::chrono::steady_clock::now() - begin < std::chrono::seconds(5));
}

TEST_CASE("what was only found is left alone if it looks like another program's terminal") {
    SUBCASE("a terminal that is not raw") {
        FarSide far;
        const termios before = far.settings();
        const auto refused = open_port(far.path, PortClaim::found);
        REQUIRE_FALSE(refused.has_value());
        CHECK(refused.error().kind == ErrorKind::in_use);
        CHECK(far.settings().c_lflag == before.c_lflag);
        // Named, it is opened: whoever names it knows.
        const auto named = open_port(far.path, PortClaim::named);
        REQUIRE(named.has_value());
        close_port(named->descriptor);
    }
    SUBCASE("a raw terminal that some process has as its own") {
        int far = -1;
        const pid_t child = forkpty(&far, nullptr, nullptr, nullptr);
        REQUIRE(child >= 0);
        if (child == 0) {
            termios raw{};
            tcgetattr(STDIN_FILENO, &raw);
            cfmakeraw(&raw);
            tcsetattr(STDIN_FILENO, TCSANOW, &raw);
            if (::write(STDOUT_FILENO, "r", 1) != 1) _exit(1);
            pause();
            _exit(0);
        }
        std::array<char, 1> raw_now{};
        REQUIRE(::read(far, raw_now.data(), 1) == 1);
        std::array<char, 256> path{};
        REQUIRE(ptsname_r(far, path.data(), path.size()) == 0);
        const auto refused = open_port(path.data(), PortClaim::found);
        CHECK_FALSE(refused.has_value());
        if (!refused) CHECK(refused.error().kind == ErrorKind::in_use);
        kill(child, SIGKILL);
        waitpid(child, nullptr, 0);
        ::close(far);
    }
    SUBCASE("a raw terminal of nobody's is a rig's") {
        FarSide far;
        termios raw = far.settings();
        cfmakeraw(&raw);
        far.leave(raw);
        const auto opened = open_port(far.path, PortClaim::found);
        REQUIRE(opened.has_value());
        close_port(opened->descriptor);
    }
}

}  // namespace
}  // namespace breakstep::test
