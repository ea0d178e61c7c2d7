#include "devices/serial/port_setup.hpp"

#include <fcntl.h>
#include <linux/serial.h>
#include <sys/file.h>
#include <sys/ioctl.h>
#include <sys/stat.h>
#include <termios.h>
#include <time.h>
#include <unistd.h>

#include <cerrno>
#include <chrono>
#include <csignal>
#include <cstring>
#include <filesystem>
#include <fstream>
#include <thread>

#include "devices/serial/controlling_terminal.hpp"

namespace breakstep {
namespace {

constexpr speed_t baud = B500000;
constexpr int quick_latency_ms = 2;
constexpr auto longest_drain = std::chrono::milliseconds(50);

tl::unexpected<Error> refused(const std::string& path, int error) {
    const std::string what = "the port " + path + " can't be opened: ";
    switch (error) {
        case ENOENT:
        case ENXIO:
        case ENODEV:
            return failure(ErrorKind::not_found, "there is no port " + path,
                           "plug the rig in, and see `breakstep rigs list` for the ports that are there");
        case EACCES:
        case EPERM:
            return failure(ErrorKind::system, what + "permission denied",
                           "add yourself to the group dialout (usermod -aG dialout NAME), then log in again");
        case EBUSY:
        case EWOULDBLOCK:
            return failure(ErrorKind::in_use, what + "another program holds it",
                           "close the other breakstep or terminal program, then try again");
        default:
            return failure(ErrorKind::system, what + std::strerror(error), "unplug the rig and plug it in again");
    }
}

tl::unexpected<Error> somebody_elses(const std::string& path) {
    return failure(ErrorKind::in_use, "the terminal " + path + " is another program's, and no rig's",
                   "start the rig again, and name its new path with --rig PORT");
}

bool is_raw(const termios& settings) {
    return (settings.c_lflag & (ICANON | ECHO | ISIG)) == 0 && (settings.c_oflag & OPOST) == 0;
}

// Reads wait for a byte (with VMIN 0 an empty read looks like the end); nothing is echoed, translated or held up; the
// modem lines fall at the close, so that every opening looks alike to the rig, whatever the program before left.
termios as_wanted(termios settings, PortWay way) {
    cfmakeraw(&settings);
    settings.c_iflag &= ~static_cast<tcflag_t>(IXOFF | IXANY | INPCK);
    settings.c_cflag &= ~static_cast<tcflag_t>(CSTOPB | CRTSCTS);
    settings.c_cflag |= CREAD | CLOCAL | HUPCL;
    settings.c_cc[VMIN] = 1;
    settings.c_cc[VTIME] = 0;
    if (way == PortWay::serial_line) cfsetspeed(&settings, baud);
    return settings;
}

bool same_mode(const termios& one, const termios& other) {
    return one.c_iflag == other.c_iflag && one.c_oflag == other.c_oflag && one.c_lflag == other.c_lflag &&
           ((one.c_cflag ^ other.c_cflag) & (CSIZE | CSTOPB | PARENB | CREAD | CRTSCTS)) == 0 &&
           one.c_cc[VMIN] == other.c_cc[VMIN] && one.c_cc[VTIME] == other.c_cc[VTIME];
}

Expected<void> set_up_line(int descriptor, const std::string& path, PortWay way, const termios& found) {
    const termios wanted = as_wanted(found, way);
    // Setting says yes when any part of it was done: only what is read back counts.
    termios got{};
    if (tcsetattr(descriptor, TCSANOW, &wanted) != 0 || tcgetattr(descriptor, &got) != 0) return refused(path, errno);
    if (way == PortWay::serial_line && (cfgetospeed(&got) != baud || cfgetispeed(&got) != baud))
        return failure(ErrorKind::device, "the port " + path + " does not do 500,000 baud",
                       "use the rig's own adapter, or one that can");
    if (!same_mode(got, wanted))
        return failure(ErrorKind::device, "the port " + path + " does not keep the raw mode it was set to",
                       "use the rig's own adapter, or another one");
    return {};
}

// Adapters of one family wait 16 ms to fill a packet unless told otherwise; others have no such timer.
bool has_slow_latency_timer(int descriptor, const std::string& path) {
    serial_struct settings{};
    if (ioctl(descriptor, TIOCGSERIAL, &settings) == 0) {
        settings.flags |= ASYNC_LOW_LATENCY;
        ioctl(descriptor, TIOCSSERIAL, &settings);
    }
    const std::string name = std::filesystem::path(path).filename().string();
    std::ifstream timer("/sys/bus/usb-serial/devices/" + name + "/latency_timer");
    int milliseconds = 0;
    return timer >> milliseconds && milliseconds > quick_latency_ms;
}

// The lock keeps other breakstep processes out, root's too; TIOCEXCL all other programs but root's.
Expected<void> take_alone(int descriptor, const std::string& path, PortWay way) {
    if (flock(descriptor, LOCK_EX | LOCK_NB) != 0) return refused(path, errno);
    if (way == PortWay::serial_line && ioctl(descriptor, TIOCEXCL) != 0) return refused(path, errno);
    return {};
}

Expected<void> take(int descriptor, const std::string& path, PortWay way, PortClaim claim) {
    termios found{};
    if (tcgetattr(descriptor, &found) != 0) {
        if (errno == EIO) return refused(path, ENODEV);
        return failure(ErrorKind::device, path + " is no serial port and no terminal",
                       "name a port, as `breakstep rigs list` shows them");
    }
    if (claim == PortClaim::found) {
        // The number of a rig that ended may be anybody's terminal by now. A rig's is raw before it is told, and
        // nobody's controlling terminal.
        struct stat node {};
        if (fstat(descriptor, &node) != 0) return refused(path, errno);
        if ((way == PortWay::pty && !is_raw(found)) || controls_a_process(node.st_rdev)) return somebody_elses(path);
    }
    if (auto alone = take_alone(descriptor, path, way); !alone) return alone;
    if (auto set = set_up_line(descriptor, path, way, found); !set) {
        tcsetattr(descriptor, TCSANOW, &found);
        if (way == PortWay::serial_line) ioctl(descriptor, TIOCNXCL);
        return set;
    }
    // What came in before nobody asked for.
    tcflush(descriptor, TCIFLUSH);
    return {};
}

// cdc_acm can't drop what a device does not take, and its close waits 30 s for it (with the port locked: whoever opens
// it waits too), unless a signal comes. So one comes to this thread every 20 ms for as long as this lives.
class Nudges {
  public:
    Nudges() {
        struct sigaction nothing {};
        nothing.sa_handler = [](int) {};
        sigaction(SIGRTMIN, &nothing, nullptr);
        sigset_t only{};
        sigemptyset(&only);
        sigaddset(&only, SIGRTMIN);
        pthread_sigmask(SIG_UNBLOCK, &only, &mask_before_);
        sigevent to_this_thread{};
        to_this_thread.sigev_notify = SIGEV_THREAD_ID;
        to_this_thread.sigev_signo = SIGRTMIN;
        to_this_thread._sigev_un._tid = gettid();
        runs_ = timer_create(CLOCK_MONOTONIC, &to_this_thread, &timer_) == 0;
        const itimerspec often{{0, 20'000'000}, {0, 20'000'000}};
        if (runs_) timer_settime(timer_, 0, &often, nullptr);
    }
    ~Nudges() {
        if (runs_) timer_delete(timer_);
        pthread_sigmask(SIG_SETMASK, &mask_before_, nullptr);
    }
    Nudges(const Nudges&) = delete;
    Nudges& operator=(const Nudges&) = delete;

  private:
    timer_t timer_{};
    bool runs_ = false;
    sigset_t mask_before_{};
};

}  // namespace

Expected<OpenedPort> open_device(const std::string& device, PortWay way, PortClaim claim) {
    OpenedPort opened;
    opened.is_pty = way == PortWay::pty;
    // Without O_NONBLOCK the opening waits for a carrier that no rig gives.
    opened.descriptor = ::open(device.c_str(), O_RDWR | O_NOCTTY | O_NONBLOCK | O_CLOEXEC);
    if (opened.descriptor < 0) return refused(device, errno);
    if (auto taken = take(opened.descriptor, device, way, claim); !taken) {
        close(opened.descriptor);
        return tl::make_unexpected(taken.error());
    }
    if (way == PortWay::serial_line) opened.slow_latency_timer = has_slow_latency_timer(opened.descriptor, device);
    return opened;
}

bool leads_to_pty(const std::string& path) {
    std::error_code missing;
    const std::filesystem::path real = std::filesystem::canonical(path, missing);
    return (missing ? path : real.string()).starts_with("/dev/pts/");
}

Expected<OpenedPort> open_port(const std::string& given, PortClaim claim) {
    std::error_code missing;
    const std::filesystem::path real = std::filesystem::canonical(given, missing);
    if (missing) return refused(given, missing.value());
    return open_device(real.string(), leads_to_pty(real.string()) ? PortWay::pty : PortWay::serial_line, claim);
}

void close_port(int descriptor) {
    const auto end = std::chrono::steady_clock::now() + longest_drain;
    const auto waits = [descriptor] {
        int bytes = 0;
        return ioctl(descriptor, TIOCOUTQ, &bytes) == 0 && bytes > 0;
    };
    while (waits() && std::chrono::steady_clock::now() < end) std::this_thread::sleep_for(std::chrono::milliseconds(1));
    tcflush(descriptor, TCOFLUSH);
    if (!waits()) {
        close(descriptor);
        return;
    }
    const Nudges nudges;
    close(descriptor);
}

}  // namespace breakstep
