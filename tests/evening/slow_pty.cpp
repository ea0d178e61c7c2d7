#include "evening/slow_pty.hpp"

#include <fcntl.h>
#include <poll.h>
#include <stdlib.h>
#include <termios.h>
#include <unistd.h>

#include <array>
#include <chrono>
#include <stdexcept>
#include <vector>

namespace breakstep::tests {
namespace {

constexpr auto timer = std::chrono::milliseconds(16);
constexpr std::size_t packet = 62;

void make_raw(int terminal) {
    termios settings{};
    if (::tcgetattr(terminal, &settings) != 0) throw std::runtime_error("no terminal settings");
    ::cfmakeraw(&settings);
    ::tcsetattr(terminal, TCSANOW, &settings);
}

}  // namespace

SlowPty::SlowPty(const std::string& rig) {
    rig_ = ::open(rig.c_str(), O_RDWR | O_NOCTTY | O_NONBLOCK | O_CLOEXEC);
    near_ = ::posix_openpt(O_RDWR | O_NOCTTY | O_CLOEXEC | O_NONBLOCK);
    std::array<char, 128> name{};
    if (rig_ < 0 || near_ < 0 || ::grantpt(near_) != 0 || ::unlockpt(near_) != 0 ||
        ::ptsname_r(near_, name.data(), name.size()) != 0)
        throw std::runtime_error("no pseudo-terminal can be had");
    path_ = name.data();
    far_ = ::open(path_.c_str(), O_RDWR | O_NOCTTY | O_CLOEXEC);
    make_raw(rig_);
    make_raw(far_);
    ::tcflush(rig_, TCIFLUSH);
    thread_ = std::thread([this] { run(); });
}

SlowPty::~SlowPty() {
    stop_ = true;
    thread_.join();
    ::close(rig_);
    ::close(near_);
    ::close(far_);
}

void SlowPty::run() const {
    using Clock = std::chrono::steady_clock;
    std::vector<char> waiting;
    Clock::time_point tick = Clock::now() + timer;
    while (!stop_) {
        std::array<pollfd, 2> ends{pollfd{rig_, POLLIN, 0}, pollfd{near_, POLLIN, 0}};
        const auto left = std::chrono::ceil<std::chrono::milliseconds>(tick - Clock::now()).count();
        ::poll(ends.data(), ends.size(), static_cast<int>(std::max<long>(0, left)));
        std::array<char, 512> bytes{};
        if (const ssize_t count = ::read(rig_, bytes.data(), bytes.size()); count > 0)
            waiting.insert(waiting.end(), bytes.begin(), bytes.begin() + count);
        if (const ssize_t count = ::read(near_, bytes.data(), bytes.size()); count > 0)
            if (::write(rig_, bytes.data(), static_cast<std::size_t>(count)) != count) return;
        const bool due = Clock::now() >= tick;
        if (due || waiting.size() >= packet) {
            if (!waiting.empty()) {
                const ssize_t handed = ::write(near_, waiting.data(), waiting.size());
                if (handed > 0) waiting.erase(waiting.begin(), waiting.begin() + handed);
            }
            tick = Clock::now() + timer;
        }
    }
}

}  // namespace breakstep::tests
