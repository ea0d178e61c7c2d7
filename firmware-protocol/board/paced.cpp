#include "paced.hpp"

#include <fcntl.h>
#include <poll.h>
#include <sys/ioctl.h>
#include <termios.h>
#include <time.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <cmath>
#include <cstdlib>
#include <cstring>
#include <deque>

namespace board {
namespace {

constexpr long quantum_ns = 50'000;  // how finely the simulated time follows the wall clock
constexpr std::uint64_t most_cycles_a_step = 16'000;

std::int64_t wall_ns() {
    timespec now{};
    clock_gettime(CLOCK_MONOTONIC, &now);
    return static_cast<std::int64_t>(now.tv_sec) * 1'000'000'000 + now.tv_nsec;
}

struct Terminal {
    int rig = -1, host = -1;
};

/// The host's side is held open here too: a host that leaves and comes back finds the same terminal.
bool open_terminal(Terminal& terminal) {
    terminal.rig = posix_openpt(O_RDWR | O_NOCTTY | O_NONBLOCK);
    if (terminal.rig < 0 || grantpt(terminal.rig) != 0 || unlockpt(terminal.rig) != 0) return false;
    terminal.host = open(ptsname(terminal.rig), O_RDWR | O_NOCTTY);
    if (terminal.host < 0) return false;
    termios settings{};
    if (tcgetattr(terminal.host, &settings) != 0) return false;
    cfmakeraw(&settings);
    return tcsetattr(terminal.host, TCSANOW, &settings) == 0;
}

class Paced {
  public:
    Paced(Controller& controller, const Terminal& terminal, double drift)
        : controller_(controller),
          commands_(controller),
          terminal_(terminal),
          cycles_per_ns_(16e-3 * (1 + drift * 1e-6)),
          started_(wall_ns()) {}

    int run() {
        std::printf("pty %s %lld\n", ptsname(terminal_.rig), static_cast<long long>(started_));
        std::fflush(stdout);
        for (;;) {
            // When it lags behind the wall clock it catches up step by step: what comes in meanwhile is for cycles to
            // come.
            const std::uint64_t now = cycle_at(wall_ns());
            const std::uint64_t step_end = controller_.cycle() + most_cycles_a_step;
            behind_ = now > step_end;
            controller_.run(behind_ ? step_end : now, false);
            pass_to_host();
            pass_to_rig();
            tell(controller_, stdout);
            std::fflush(stdout);
            wait();
            if (const int code = read_commands(); code >= 0) return code;
        }
    }

  private:
    std::uint64_t cycle_at(std::int64_t wall) const {
        return static_cast<std::uint64_t>(static_cast<double>(wall - started_) * cycles_per_ns_);
    }

    /// A byte is there when its last bit has passed.
    void pass_to_host() {
        for (const SentByte& byte : controller_.take_sent()) sent_.push_back(byte);
        std::string ready;
        while (!sent_.empty() && sent_.front().cycle + cycles_per_byte <= controller_.cycle()) {
            ready.push_back(static_cast<char>(sent_.front().value));
            sent_.pop_front();
        }
        if (ready.empty()) return;
        const ssize_t written = write(terminal_.rig, ready.data(), ready.size());
        const std::size_t taken = written < 0 ? 0 : static_cast<std::size_t>(written);
        if (taken == ready.size()) return;
        lost_ += ready.size() - taken;
        std::printf("lost %zu\n", lost_);
    }

    /// What was read now cannot have come in earlier than now, though the simulated time may lag behind.
    void pass_to_rig() {
        // Asking first is cheap; reading or polling an empty terminal waits for the kernel's worker, under load for
        // long.
        int waiting = 0;
        if (ioctl(terminal_.rig, FIONREAD, &waiting) != 0 || waiting == 0) return;
        std::array<std::uint8_t, 256> bytes{};
        const ssize_t got = read(terminal_.rig, bytes.data(), bytes.size());
        const std::uint64_t now = cycle_at(wall_ns());
        for (ssize_t i = 0; i < got; ++i) controller_.byte(now, bytes[static_cast<std::size_t>(i)]);
    }

    void wait() {
        pollfd commands{STDIN_FILENO, POLLIN, 0};
        const timespec limit{0, behind_ ? 0 : quantum_ns};
        ppoll(&commands, 1, &limit, nullptr);
        readable_ = (commands.revents & (POLLIN | POLLHUP)) != 0;
    }

    /// -1: go on.
    int read_commands() {
        if (!readable_) return -1;
        std::array<char, 4096> text{};
        const ssize_t got = read(STDIN_FILENO, text.data(), text.size());
        if (got == 0) return 0;
        if (got < 0) return errno == EINTR || errno == EAGAIN ? -1 : 1;
        pending_.append(text.data(), static_cast<std::size_t>(got));
        for (std::size_t end = 0; (end = pending_.find('\n')) != std::string::npos;) {
            const std::string line = pending_.substr(0, end);
            pending_.erase(0, end + 1);
            const Understood answer = commands_.obey(line, false);
            if (answer == Understood::quit) return 0;
            if (answer == Understood::yes) continue;
            std::printf("wrong %s\n", line.c_str());
            return 2;
        }
        return -1;
    }

    Controller& controller_;
    Commands commands_;
    Terminal terminal_;
    double cycles_per_ns_;
    std::int64_t started_;
    std::deque<SentByte> sent_;
    std::size_t lost_ = 0;
    std::string pending_;
    bool readable_ = false, behind_ = false;
};

}  // namespace

int run_paced(Controller& controller, double drift) {
    Terminal terminal;
    if (!open_terminal(terminal)) {
        std::fprintf(stderr, "breakstep_board: no pseudo-terminal could be opened: %s\n", std::strerror(errno));
        return 1;
    }
    return Paced(controller, terminal, drift).run();
}

}  // namespace board
