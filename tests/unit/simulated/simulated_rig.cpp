// The simulated rig on a real pty: a host opens it, leaves, comes back, and another one may come after it. Nothing here
// is timed: every read waits for what must come.
#include <fcntl.h>
#include <poll.h>
#include <sys/ioctl.h>
#include <unistd.h>

#include <array>
#include <sstream>

#include "devices/simulated/simulate_rig.hpp"
#include "rig_host.hpp"

using namespace breakstep;
using namespace breakstep::testing;

namespace {

class PtyHost {
  public:
    explicit PtyHost(const std::string& path) : port_(::open(path.c_str(), O_RDWR | O_NOCTTY)) {
        REQUIRE(port_ >= 0);
        ::ioctl(port_, TIOCEXCL);  // as a host does that wants the port for itself
    }
    ~PtyHost() { ::close(port_); }
    PtyHost(const PtyHost&) = delete;
    PtyHost& operator=(const PtyHost&) = delete;

    void send(const wire_message& message) {
        std::array<std::uint8_t, WIRE_FRAME_MAX> frame{};
        const std::size_t size = wire_encode_frame(&message, frame.data());
        REQUIRE(::write(port_, frame.data(), size) == static_cast<ssize_t>(size));
    }
    wire_message next() {
        wire_message message{};
        for (;;) {
            std::uint8_t byte = 0;
            REQUIRE(::read(port_, &byte, 1) == 1);
            if (wire_receive(&receiver_, byte, &message) == WIRE_RECEIVED_MESSAGE) return message;
        }
    }
    wire_message wait_for(std::uint8_t type) {
        wire_message message = next();
        while (message.type != type) message = next();
        return message;
    }

  private:
    int port_;
    wire_receiver receiver_{};
};

}  // namespace

TEST_CASE("a simulated rig on a pty greets, stamps strikes, and outlives its hosts") {
    auto rig = SimulatedRig::open({});
    REQUIRE(rig.has_value());
    std::uint32_t boot = 0;
    for (std::uint16_t visit = 1; visit <= 3; ++visit) {
        PtyHost host(rig->path());
        host.send(message_of(WIRE_HELLO_REQUEST));
        const wire_message hello = host.wait_for(WIRE_HELLO);
        if (boot == 0) boot = hello.as.hello.boot;
        CHECK(hello.as.hello.boot == boot);  // the same run of the rig, whoever comes
        wire_message acknowledge = message_of(WIRE_ACKNOWLEDGE);
        acknowledge.as.acknowledge = {boot, static_cast<std::uint16_t>(visit - 1)};
        host.send(acknowledge);
        wire_message ping = message_of(WIRE_PING);
        ping.as.ping.id = visit;
        host.send(ping);
        wire_message reply = host.wait_for(WIRE_PING_REPLY);
        while (reply.as.ping_reply.id != visit) reply = host.wait_for(WIRE_PING_REPLY);
        CHECK(reply.as.ping_reply.replied >= reply.as.ping_reply.received);
        // The last visit's blow may have left the pad deaf for 60 ms yet.
        rig->post(
            [](SimulatedTarget& target, HostTime now) { target.rig().strike(now + 100ms, PadRole::low_right, 0.7); });
        const wire_message hit = host.wait_for(WIRE_PAD_HIT);
        CHECK(hit.sequence == visit);
        CHECK(hit.as.pad_hit.pad == WIRE_PAD_LOW_RIGHT);
        CHECK(hit.time > reply.as.ping_reply.received);
    }
}

TEST_CASE("a served rig tells its port on one line and ends when its time is over") {
    SimulateRigOptions options;
    options.ends_after = 20ms;
    std::ostringstream out;
    CHECK(serve_simulated_rig(options, out).has_value());
    CHECK(out.str().starts_with("rig at /dev/"));
    CHECK(out.str().find('\n') == out.str().size() - 1);
}

TEST_CASE("what nobody reads is dropped in whole frames and counted") {
    auto rig = SimulatedRig::open({});
    REQUIRE(rig.has_value());
    PtyHost host(rig->path());
    // Far more greetings than the pty and the rig's own queue hold, and nobody reads meanwhile.
    for (int i = 0; i < 400; ++i) host.send(message_of(WIRE_HELLO_REQUEST));
    while (rig->dropped() == 0) host.send(message_of(WIRE_HELLO_REQUEST));
    wire_message ping = message_of(WIRE_PING);
    ping.as.ping.id = 77;
    // A reply may be dropped too; the greetings go on until the first acknowledge, and with each we ask again.
    wire_message message = host.next();
    while (message.type != WIRE_PING_REPLY) {
        if (message.type == WIRE_HELLO) host.send(ping);
        message = host.next();
    }
    CHECK(message.as.ping_reply.id == 77);
    CHECK(rig->dropped() > 0);
}
