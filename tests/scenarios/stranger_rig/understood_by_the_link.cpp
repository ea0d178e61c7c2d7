// A rig that was written from PROTOCOL.md's words alone (../stranger_rig.py) talks to the link over a real
// pseudo-terminal: every blow it knows of arrives once and unaltered, every lamp order is confirmed, with damage on the
// line and over a reset. What passes or fails is what was said, never how fast; a deadline only ends a run that hangs.
#include <doctest/doctest.h>

#include <fcntl.h>
#include <poll.h>
#include <sys/wait.h>
#include <termios.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <chrono>
#include <csignal>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <functional>
#include <nlohmann/json.hpp>
#include <stdexcept>
#include <string>
#include <tuple>
#include <vector>

#include "core/random.hpp"
#include "link/link.hpp"
#include "places.hpp"

using namespace breakstep;

namespace {

HostTime now() {
    return HostTime(std::chrono::duration_cast<Duration>(std::chrono::steady_clock::now().time_since_epoch()));
}

/// The stranger's program and the path it printed. Ended by its id.
class StrangerRig {
  public:
    explicit StrangerRig(std::vector<std::string> arguments) {
        arguments.insert(arguments.begin(),
                         {"python3", std::string(BREAKSTEP_SOURCE_DIR) + "/tests/scenarios/stranger_rig.py"});
        int out[2];
        if (pipe(out) != 0) throw std::runtime_error("no pipe");
        id_ = fork();
        if (id_ == 0) {
            dup2(out[1], STDOUT_FILENO);
            close(out[0]);
            std::vector<char*> words;
            for (auto& argument : arguments) words.push_back(argument.data());
            words.push_back(nullptr);
            execvp(words[0], words.data());
            _exit(127);
        }
        close(out[1]);
        for (char c = 0; read(out[0], &c, 1) == 1 && c != '\n';) path_ += c;
        close(out[0]);
        if (path_.empty()) throw std::runtime_error("the stranger's rig did not start: is python3 installed?");
    }
    ~StrangerRig() {
        kill(id_, SIGTERM);
        waitpid(id_, nullptr, 0);
    }
    StrangerRig(const StrangerRig&) = delete;
    StrangerRig& operator=(const StrangerRig&) = delete;
    [[nodiscard]] const std::string& path() const { return path_; }
    void reset() const { kill(id_, SIGUSR1); }

  private:
    pid_t id_ = -1;
    std::string path_;
};

/// A link on a pseudo-terminal, driven by poll().
class Host {
  public:
    /// `damage`: the share of its frames that reach the rig with one bit turned.
    explicit Host(const std::string& path, double damage = 0) : link_(settings(), 7), damage_(damage) {
        port_ = open(path.c_str(), O_RDWR | O_NOCTTY | O_NONBLOCK);
        if (port_ < 0) throw std::runtime_error("can't open " + path);
        termios raw{};
        tcgetattr(port_, &raw);
        cfmakeraw(&raw);
        tcsetattr(port_, TCSANOW, &raw);
        tcflush(port_, TCIFLUSH);
        link_.port_opened(now());
    }
    ~Host() { close(port_); }
    Host(const Host&) = delete;
    Host& operator=(const Host&) = delete;

    Link& link() { return link_; }
    [[nodiscard]] const std::vector<LinkEvent>& events() const { return events_; }
    template <class Event>
    [[nodiscard]] std::vector<Event> all() const {
        std::vector<Event> found;
        for (const LinkEvent& event : events_)
            if (const auto* one = std::get_if<Event>(&event)) found.push_back(*one);
        return found;
    }

    /// Runs until `done` holds; false if it did not within a minute.
    bool run_until(const std::function<bool()>& done) {
        const HostTime give_up = now() + 60s;
        while (!done()) {
            if (now() > give_up) return false;
            step();
        }
        return true;
    }

  private:
    static LinkSettings settings() {
        LinkSettings settings;
        settings.byte_time = 0ns;
        return settings;
    }

    void step() {
        const auto due = link_.next_due();
        const auto wait = due ? std::clamp<Duration>(*due - now(), 0ns, 50ms) : Duration{50ms};
        const timespec timeout{0, static_cast<long>(wait.count())};
        pollfd waiting{port_, POLLIN, 0};
        if (ppoll(&waiting, 1, &timeout, nullptr) > 0) {
            std::array<std::uint8_t, 4096> bytes;
            const auto size = read(port_, bytes.data(), bytes.size());
            const HostTime arrived = now();
            if (size > 0) link_.bytes(arrived, {bytes.data(), static_cast<std::size_t>(size)});
        }
        link_.due(now());
        send();
        keep();
    }

    void send() {
        std::vector<OutFrame> frames;
        link_.drain(frames);
        for (OutFrame& frame : frames) {
            if (chance_.chance(damage_)) frame.bytes[chance_.below(frame.size)] ^= std::uint8_t{1};
            link_.sent(frame.id, now());
            REQUIRE(write(port_, frame.bytes.data(), frame.size) == frame.size);
        }
    }

    /// The store of this host is `events_`: what stands there is kept, and the rig may forget it.
    void keep() {
        const std::size_t before = events_.size();
        link_.take(events_);
        for (std::size_t i = before; i < events_.size(); ++i)
            std::visit([this](const auto& event) { commit(event); }, events_[i]);
    }
    template <class Event>
    void commit(const Event& event) {
        if constexpr (requires { event.sequence; }) link_.committed(now(), event.at.boot(), event.sequence);
    }

    Link link_;
    double damage_;
    Random chance_{8};
    int port_ = -1;
    std::vector<LinkEvent> events_;
};

/// (boot, ticks, pad) of every blow the stranger knows of.
using Blow = std::tuple<std::uint32_t, std::int64_t, int>;

std::vector<Blow> true_blows(const std::string& file) {
    std::vector<Blow> blows;
    std::ifstream lines(file);
    for (std::string line; std::getline(lines, line);) {
        const auto one = nlohmann::json::parse(line);
        blows.emplace_back(one["boot"], one["time"], one["pad"]);
    }
    return blows;
}

std::vector<Blow> heard_blows(const Host& host) {
    std::vector<Blow> blows;
    for (const PadHit& hit : host.all<PadHit>())
        blows.emplace_back(static_cast<std::uint32_t>(hit.at.boot()), hit.at.since_boot() / 500ns,
                           static_cast<int>(hit.pad));
    return blows;
}

struct TemporaryFile {
    std::string path;
    explicit TemporaryFile(const std::string& name)
        : path((std::filesystem::temp_directory_path() / (name + std::to_string(getpid()))).string()) {
        std::filesystem::remove(path);
    }
    ~TemporaryFile() { std::filesystem::remove(path); }
};

/// Orders the foot lamp on and off `times` times, each 150 ms ahead, one after the other, and waits for each.
std::vector<std::pair<std::uint16_t, TargetTime>> blink(Host& host, int times) {
    std::vector<std::pair<std::uint16_t, TargetTime>> orders;
    for (int i = 0; i < times; ++i) {
        const auto reading = host.link().target_time_from(now() + 150ms);
        REQUIRE(reading.has_value());
        const std::uint16_t order = host.link().order_lamps(now(), reading->at, 0b1111, i % 2 == 0 ? 0b0001 : 0);
        REQUIRE(order != 0);
        orders.emplace_back(order, reading->at);
        REQUIRE(host.run_until(
            [&] { return host.all<LampsSet>().size() + host.all<LampsRefused>().size() == orders.size(); }));
    }
    return orders;
}

bool ready(Host& host) {
    return host.run_until([&] {
        return host.link().connected() && host.link().bound() != unknown_uncertainty && host.link().bound() < 500us;
    });
}

}  // namespace

TEST_CASE("a stranger's rig is understood, with 3 damaged frames in 100 both ways") {
    const TemporaryFile truth("stranger-truth-");
    StrangerRig rig({"--strike", "foot:20,35.5,-,60@3", "--step", "10", "--truth", truth.path, "--damage", "0.03"});
    Host host(rig.path(), 0.03);
    REQUIRE(ready(host));

    const auto connected = host.all<RigConnected>();
    REQUIRE(connected.size() == 1);
    CHECK(connected[0].channels.size() == 13);
    CHECK(static_cast<std::uint64_t>(connected[0].board) == 0x57A4'6E20'0000'0001);

    const auto orders = blink(host, 40);
    const auto lamps = host.all<LampsSet>();
    REQUIRE(lamps.size() == orders.size());
    CHECK(host.all<LampsRefused>().empty());
    for (std::size_t i = 0; i < lamps.size(); ++i) {
        CHECK(lamps[i].order == orders[i].first);
        CHECK(lamps[i].at >= orders[i].second - 500ns);  // an order is rounded to a tick
        CHECK(lamps[i].lit == (i % 2 == 0 ? 0b0001 : 0));
    }

    // 20 times the foot lamp was lit; one in four times there was no blow.
    REQUIRE(host.run_until([&] { return host.all<PadHit>().size() >= 15 && host.all<GateEdge>().size() >= 30; }));
    const auto blows = true_blows(truth.path);
    CHECK(blows.size() == 15);
    CHECK(heard_blows(host) == blows);
    CHECK(host.all<EventsLost>().empty());
    CHECK(host.link().counters().damaged > 0);
    CHECK(host.link().counters().unknown == 0);
}

TEST_CASE("a stranger's rig that resets is found again, and no blow is doubled") {
    const TemporaryFile truth("stranger-truth-reset-");
    StrangerRig rig({"--strike", "foot:20", "--truth", truth.path});
    Host host(rig.path());
    REQUIRE(ready(host));
    blink(host, 4);
    REQUIRE(host.run_until([&] { return heard_blows(host) == true_blows(truth.path) && !heard_blows(host).empty(); }));
    rig.reset();
    REQUIRE(host.run_until([&] { return host.all<RigConnected>().size() == 2; }));
    CHECK(host.all<RigConnected>()[0].board == host.all<RigConnected>()[1].board);
    CHECK(host.all<RigConnected>()[0].boot != host.all<RigConnected>()[1].boot);
    const auto lost = host.all<RigLost>();
    REQUIRE(!lost.empty());
    CHECK(lost.back().reason == VoidReason::board_reset);

    REQUIRE(ready(host));
    const std::size_t before = host.all<LampsSet>().size();
    const auto reading = host.link().target_time_from(now() + 150ms);
    REQUIRE(reading.has_value());
    host.link().order_lamps(now(), reading->at, 0b1111, 0b0001);
    REQUIRE(host.run_until([&] { return host.all<LampsSet>().size() > before; }));
    REQUIRE(host.run_until([&] { return heard_blows(host).size() >= 3; }));
    CHECK(heard_blows(host) == true_blows(truth.path));
}

TEST_CASE("a stranger's rig answers about settings, counters and levels") {
    StrangerRig rig({});
    Host host(rig.path());
    REQUIRE(ready(host));
    host.link().set_setting(now(), WIRE_SETTING_PAD_THRESHOLD, 2, 120);
    REQUIRE(host.run_until([&] { return host.all<SettingValue>().size() == 1; }));
    host.link().get_setting(now(), WIRE_SETTING_PAD_THRESHOLD, 2);
    REQUIRE(host.run_until([&] { return host.all<SettingValue>().size() == 2; }));
    host.link().set_setting(now(), WIRE_SETTING_CROSSTALK, 0, 21);
    REQUIRE(host.run_until([&] { return host.all<SettingValue>().size() == 3; }));
    host.link().get_setting(now(), 99, 0);
    REQUIRE(host.run_until([&] { return host.all<SettingValue>().size() == 4; }));
    const auto values = host.all<SettingValue>();
    CHECK((values[0].status == WIRE_SETTING_OK && values[0].value == 120));
    CHECK((values[1].status == WIRE_SETTING_OK && values[1].value == 120));
    CHECK((values[2].status == WIRE_SETTING_OUT_OF_RANGE && values[2].value == 5));
    CHECK((values[3].status == WIRE_SETTING_UNKNOWN && values[3].value == 0));

    host.link().request_counters(now());
    REQUIRE(host.run_until([&] { return host.all<RigCounters>().size() == 1; }));
    host.link().set_levels(now(), true);
    REQUIRE(host.run_until([&] { return host.all<PadLevel>().size() >= 8; }));
    host.link().set_levels(now(), false);
}

TEST_CASE("a stranger's rig strikes by itself: once after the greeting, and again whenever it is quiet") {
    const TemporaryFile truth("stranger-truth-quiet-");
    StrangerRig rig({"--strike-at", "0.1", "--again", "0.3", "--truth", truth.path});
    Host host(rig.path());
    REQUIRE(ready(host));
    REQUIRE(host.run_until([&] { return heard_blows(host).size() >= 3; }));
    auto blows = true_blows(truth.path);
    REQUIRE(blows.size() >= 3);
    blows.resize(3);
    auto heard = heard_blows(host);
    heard.resize(3);
    CHECK(heard == blows);
    // The lamp ready asks for a strike: while it alone is lit, it is as quiet as in the dark.
    const auto reading = host.link().target_time_from(now() + 150ms);
    REQUIRE(reading.has_value());
    host.link().order_lamps(now(), reading->at, 0b1111, 0b1000);
    REQUIRE(host.run_until([&] { return host.all<LampsSet>().size() == 1; }));
    const TargetTime lit = host.all<LampsSet>()[0].at;
    REQUIRE(host.run_until([&] { return host.all<PadHit>().back().at > lit + 600ms; }));
}
