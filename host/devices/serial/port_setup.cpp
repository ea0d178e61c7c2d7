#include "devices/serial/port_setup.hpp"

#include <fcntl.h>
#include <libserialport.h>
#include <linux/serial.h>
#include <sys/file.h>
#include <sys/ioctl.h>
#include <termios.h>
#include <unistd.h>

#include <cerrno>
#include <cstdlib>
#include <cstring>
#include <filesystem>
#include <fstream>
#include <memory>

namespace breakstep {
namespace {

constexpr int baud = 500'000;
constexpr int quick_latency_ms = 2;

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

// sp_open 0.1.1 is not exclusive. The lock keeps other breakstep processes out; TIOCEXCL, on serial ports, all others.
// On a pty that mark would outlive us for as long as the far side is open, and lock out whoever comes next.
Expected<void> take_alone(int descriptor, const std::string& path, bool is_pty) {
    if (flock(descriptor, LOCK_EX | LOCK_NB) != 0) return refused(path, errno == EWOULDBLOCK ? EBUSY : errno);
    if (!is_pty && ioctl(descriptor, TIOCEXCL) != 0) return refused(path, errno);
    return {};
}

void make_non_blocking(int descriptor) { fcntl(descriptor, F_SETFL, fcntl(descriptor, F_GETFL) | O_NONBLOCK); }

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

struct FreePort {
    void operator()(sp_port* port) const {
        sp_close(port);
        sp_free_port(port);
    }
};

Expected<OpenedPort> open_serial(sp_port* port, const std::string& path) {
    const std::unique_ptr<sp_port, FreePort> owner(port);
    if (sp_open(port, SP_MODE_READ_WRITE) != SP_OK) return refused(path, sp_last_error_code());
    sp_set_bits(port, 8);
    sp_set_parity(port, SP_PARITY_NONE);
    sp_set_stopbits(port, 1);
    sp_set_flowcontrol(port, SP_FLOWCONTROL_NONE);
    sp_set_baudrate(port, baud);
    // Setting may say yes and not do it: only what is read back counts.
    sp_port_config* config = nullptr;
    int set_baud = 0;
    if (sp_new_config(&config) == SP_OK) {
        if (sp_get_config(port, config) == SP_OK) sp_get_config_baudrate(config, &set_baud);
        sp_free_config(config);
    }
    if (set_baud != baud)
        return failure(ErrorKind::device, "the port " + path + " does not do 500,000 baud",
                       "use the rig's own adapter, or one that can");
    // What came in before nobody asked for.
    sp_flush(port, SP_BUF_INPUT);
    int handle = -1;
    sp_get_port_handle(port, &handle);
    OpenedPort opened;
    opened.descriptor = fcntl(handle, F_DUPFD_CLOEXEC, 0);
    if (opened.descriptor < 0) return refused(path, errno);
    if (auto alone = take_alone(opened.descriptor, path, false); !alone) {
        close(opened.descriptor);
        return tl::make_unexpected(alone.error());
    }
    opened.slow_latency_timer = has_slow_latency_timer(opened.descriptor, path);
    make_non_blocking(opened.descriptor);
    return opened;
}

Expected<OpenedPort> open_terminal(const std::string& path) {
    OpenedPort opened;
    opened.is_pty = true;
    opened.descriptor = ::open(path.c_str(), O_RDWR | O_NOCTTY | O_NONBLOCK | O_CLOEXEC);
    if (opened.descriptor < 0) return refused(path, errno);
    const auto give_up = [&](tl::unexpected<Error> error) {
        close(opened.descriptor);
        return error;
    };
    termios settings{};
    if (tcgetattr(opened.descriptor, &settings) != 0)
        return give_up(failure(ErrorKind::device, path + " is no serial port and no terminal",
                               "name a port, as `breakstep rigs list` shows them"));
    if (auto alone = take_alone(opened.descriptor, path, true); !alone)
        return give_up(tl::make_unexpected(alone.error()));
    cfmakeraw(&settings);
    tcsetattr(opened.descriptor, TCSANOW, &settings);
    tcflush(opened.descriptor, TCIFLUSH);
    return opened;
}

}  // namespace

Expected<OpenedPort> open_port(const std::string& given) {
    std::error_code missing;
    // libserialport wants the device itself, not a link to it (/dev/serial/by-id/...).
    const std::filesystem::path real = std::filesystem::canonical(given, missing);
    if (missing) return refused(given, missing.value());
    sp_port* port = nullptr;
    // A pty has no entry in the system's list of serial ports, and libserialport can't open it.
    const bool is_pty = real.string().starts_with("/dev/pts/");
    if (!is_pty && sp_get_port_by_name(real.c_str(), &port) == SP_OK) return open_serial(port, real.string());
    return open_terminal(real.string());
}

}  // namespace breakstep
