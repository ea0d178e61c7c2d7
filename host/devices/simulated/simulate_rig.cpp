#include "devices/simulated/simulate_rig.hpp"

// Boost 1.74 needs <utility> before its headers under C++20.
#include <utility>

#include <fcntl.h>
#include <stdlib.h>
#include <sys/inotify.h>
#include <sys/ioctl.h>
#include <termios.h>
#include <unistd.h>

#include <array>
#include <atomic>
#include <boost/asio/buffer.hpp>
#include <boost/asio/io_context.hpp>
#include <boost/asio/posix/stream_descriptor.hpp>
#include <boost/asio/post.hpp>
#include <boost/asio/signal_set.hpp>
#include <boost/asio/steady_timer.hpp>
#include <boost/asio/write.hpp>
#include <cerrno>
#include <chrono>
#include <csignal>
#include <ostream>
#include <random>
#include <system_error>
#include <thread>

namespace breakstep {
namespace {

namespace asio = boost::asio;

constexpr std::size_t most_waiting = 8192;

HostTime now_by_the_clock() {
    return HostTime(std::chrono::duration_cast<Duration>(std::chrono::steady_clock::now().time_since_epoch()));
}

tl::unexpected<Error> no_pty(const char* step) {
    return failure(ErrorKind::system,
                   std::string("a pseudo-terminal for the simulated rig can't be had: ") + step + ": " +
                       std::generic_category().message(errno),
                   "see that /dev/pts is mounted and that pseudo-terminals are left");
}

class Descriptor {
  public:
    explicit Descriptor(int number = -1) : number_(number) {}
    ~Descriptor() {
        if (number_ >= 0) ::close(number_);
    }
    Descriptor(Descriptor&& other) noexcept : number_(std::exchange(other.number_, -1)) {}
    Descriptor& operator=(Descriptor&& other) noexcept {
        std::swap(number_, other.number_);
        return *this;
    }
    [[nodiscard]] int get() const { return number_; }
    [[nodiscard]] int release() { return std::exchange(number_, -1); }

  private:
    int number_;
};

struct Pty {
    Descriptor rig_side, host_side;
    Descriptor watch;  ///< tells when a host has left
    std::string path;
};

Expected<Pty> open_pty() {
    Pty pty;
    pty.rig_side = Descriptor(::posix_openpt(O_RDWR | O_NOCTTY | O_CLOEXEC | O_NONBLOCK));
    if (pty.rig_side.get() < 0) return no_pty("open");
    if (::grantpt(pty.rig_side.get()) != 0 || ::unlockpt(pty.rig_side.get()) != 0) return no_pty("unlock");
    std::array<char, 128> name{};
    errno = ::ptsname_r(pty.rig_side.get(), name.data(), name.size());
    if (errno != 0) return no_pty("name");
    pty.path = name.data();
    pty.host_side = Descriptor(::open(pty.path.c_str(), O_RDWR | O_NOCTTY | O_CLOEXEC));
    if (pty.host_side.get() < 0) return no_pty("open the host's side");
    termios settings{};
    if (::tcgetattr(pty.host_side.get(), &settings) != 0) return no_pty("read settings");
    ::cfmakeraw(&settings);
    if (::tcsetattr(pty.host_side.get(), TCSANOW, &settings) != 0) return no_pty("set raw");
    pty.watch = Descriptor(::inotify_init1(IN_NONBLOCK | IN_CLOEXEC));
    if (pty.watch.get() < 0) return no_pty("watch it");
    if (::inotify_add_watch(pty.watch.get(), pty.path.c_str(), IN_CLOSE) < 0) return no_pty("watch it");
    return pty;
}

SimulatedTargetSettings target_settings(const SimulateRigOptions& options) {
    SimulatedTargetSettings settings = simulated_target_settings(options.seed);
    if (options.partner) settings = for_a_partner(settings);
    settings.rig.clock.drift_ppm = options.drift_ppm;
    settings.rig.byte_time = Duration{};
    // A host remembers boots: two runs of this rig must not pass for one.
    std::random_device chance;
    settings.rig.boot_salt = (static_cast<std::uint64_t>(chance()) << 32U) | chance();
    settings.link.adapter = AdapterKind::pty;
    settings.link.byte_time = Duration{};
    settings.link.stall = 0;  // this computer stalls by itself
    settings.link.damage_to_host = settings.link.damage_to_rig = options.damage;
    if (options.reset_after) settings.faults.push_back({*options.reset_after, FaultKind::board_reset});
    return settings;
}

/// Drives one target on one io_context.
class Server {
  public:
    Server(asio::io_context& context, Pty pty, const SimulateRigOptions& options)
        : host_side_(std::move(pty.host_side)),
          path_(std::move(pty.path)),
          port_(context, pty.rig_side.release()),
          watch_(context, pty.watch.release()),
          timer_(context),
          target_(target_settings(options), now_by_the_clock()) {
        if (options.athlete) target_.set_athlete(now_by_the_clock(), *options.athlete);
    }

    void start() {
        read();
        watch();
        pump();
    }
    /// After anything that happened: moves bytes on and sets the timer.
    void pump();
    [[nodiscard]] SimulatedTarget& target() { return target_; }
    [[nodiscard]] const std::string& path() const { return path_; }
    [[nodiscard]] std::uint64_t dropped() const { return dropped_.load(std::memory_order_relaxed); }

  private:
    void read();
    void watch();
    void host_left();
    void write();
    void queue(const std::vector<std::uint8_t>& bytes);

    Descriptor host_side_;
    std::string path_;
    asio::posix::stream_descriptor port_, watch_;
    asio::steady_timer timer_;
    SimulatedTarget target_;
    std::array<std::uint8_t, 512> read_buffer_{};
    alignas(inotify_event) std::array<char, 1024> watch_buffer_{};
    std::vector<std::uint8_t> waiting_, writing_, chunk_;
    bool dropping_frame_ = false, inside_frame_ = false;
    std::atomic<std::uint64_t> dropped_{0};
};

void Server::pump() {
    chunk_.clear();
    target_.drain(now_by_the_clock(), chunk_);
    queue(chunk_);
    write();
    const std::optional<HostTime> next = target_.next_due();
    if (!next) return;
    timer_.expires_at(std::chrono::steady_clock::time_point(
        std::chrono::duration_cast<std::chrono::steady_clock::duration>(next->time_since_epoch())));
    timer_.async_wait([this](const boost::system::error_code& error) {
        if (!error) pump();
    });
}

void Server::queue(const std::vector<std::uint8_t>& bytes) {
    for (const std::uint8_t byte : bytes) {
        if (!inside_frame_) dropping_frame_ = waiting_.size() >= most_waiting;
        inside_frame_ = byte != 0;
        if (dropping_frame_) {
            dropped_.fetch_add(1, std::memory_order_relaxed);
        } else {
            waiting_.push_back(byte);
        }
    }
}

void Server::write() {
    if (!writing_.empty() || waiting_.empty()) return;
    std::swap(writing_, waiting_);
    asio::async_write(port_, asio::buffer(writing_), [this](const boost::system::error_code& error, std::size_t) {
        writing_.clear();
        if (!error) write();
    });
}

void Server::read() {
    port_.async_read_some(asio::buffer(read_buffer_), [this](const boost::system::error_code& error, std::size_t size) {
        if (error) return;  // only when the descriptor is closed: the host's side is held open here
        target_.host_bytes(now_by_the_clock(), {read_buffer_.data(), size});
        pump();
        read();
    });
}

void Server::watch() {
    watch_.async_read_some(asio::buffer(watch_buffer_), [this](const boost::system::error_code& error, std::size_t) {
        if (error) return;
        host_left();
        watch();
    });
}

void Server::host_left() {
    // The next host must be let in, although this side keeps alive what the last one set; and it shall find nothing
    // old.
    ::ioctl(host_side_.get(), TIOCNXCL);
    ::tcflush(host_side_.get(), TCIFLUSH);
}

}  // namespace

Expected<void> serve_simulated_rig(const SimulateRigOptions& options, std::ostream& out) {
    auto pty = open_pty();
    if (!pty) return tl::make_unexpected(pty.error());
    asio::io_context context;
    Server server(context, std::move(*pty), options);
    asio::signal_set signals(context, SIGINT, SIGTERM, SIGHUP);
    signals.async_wait([&context](const boost::system::error_code&, int) { context.stop(); });
    asio::steady_timer end(context);
    if (options.ends_after) {
        end.expires_after(*options.ends_after);
        end.async_wait([&context](const boost::system::error_code&) { context.stop(); });
    }
    out << "rig at " << server.path() << std::endl;  // whoever started it waits for this line
    server.start();
    context.run();
    return {};
}

struct SimulatedRig::State {
    State(Pty pty, const SimulateRigOptions& options) : server(context, std::move(pty), options) {
        server.start();
        thread = std::thread([this] { context.run(); });
    }
    ~State() {
        context.stop();
        thread.join();
    }
    State(const State&) = delete;
    State& operator=(const State&) = delete;

    asio::io_context context;
    Server server;
    std::thread thread;
};

SimulatedRig::SimulatedRig(std::unique_ptr<State> state) : state_(std::move(state)) {}
SimulatedRig::~SimulatedRig() = default;
SimulatedRig::SimulatedRig(SimulatedRig&&) noexcept = default;
SimulatedRig& SimulatedRig::operator=(SimulatedRig&&) noexcept = default;

Expected<SimulatedRig> SimulatedRig::open(const SimulateRigOptions& options) {
    auto pty = open_pty();
    if (!pty) return tl::make_unexpected(pty.error());
    return SimulatedRig(std::make_unique<State>(std::move(*pty), options));
}

const std::string& SimulatedRig::path() const { return state_->server.path(); }
std::uint64_t SimulatedRig::dropped() const { return state_->server.dropped(); }

void SimulatedRig::set_athlete(const AthleteSettings& settings) {
    post([settings](SimulatedTarget& target, HostTime now) { target.set_athlete(now, settings); });
}

void SimulatedRig::post(std::function<void(SimulatedTarget& target, HostTime now)> use) {
    asio::post(state_->context, [this_state = state_.get(), use = std::move(use)] {
        use(this_state->server.target(), now_by_the_clock());
        this_state->server.pump();
    });
}

}  // namespace breakstep
