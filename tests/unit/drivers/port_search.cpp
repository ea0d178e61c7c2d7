// Where a rig that is not there is looked for, how often, and what is said of it.
#include <doctest/doctest.h>

#include <string>
#include <vector>

#include "hall/drivers/port_search.hpp"

using namespace breakstep;

namespace {

const HostTime start{1000s};

PortInfo usb(const std::string& path) { return {path, "", "", 0x1209, 1}; }
PortInfo plain(const std::string& path) { return {path, "", "", -1, -1}; }

/// A computer with these ports, and a search on it.
struct Computer {
    std::vector<PortInfo> ports;
    PortSearch search;
    Computer(std::vector<PortInfo> there, const std::string& named)
        : ports(std::move(there)), search(named, 10s, [this]() -> Expected<std::vector<PortInfo>> { return ports; }) {
        search.begin(start);
    }
    std::vector<std::string> round(const std::string& open_now = "") {
        std::vector<std::string> paths;
        while (const auto path = search.next(open_now)) paths.push_back(*path);
        return paths;
    }
};

using Paths = std::vector<std::string>;
const Error in_use{ErrorKind::in_use, "in use", ""};
const Error no_permission{ErrorKind::system, "permission denied", ""};
const Error no_baud{ErrorKind::device, "no baud", ""};
const Error missing{ErrorKind::not_found, "missing", ""};

}  // namespace

TEST_CASE("a named path is tried alone until a rig has answered, then every name, the last one first") {
    Computer here({usb("/dev/usb0"), plain("/dev/s0")}, "/dev/named");
    CHECK(here.round() == Paths{"/dev/named"});
    here.search.opened("/dev/named");
    here.search.answered(start);
    CHECK(here.round() == Paths{"/dev/named", "/dev/usb0", "/dev/s0"});
    here.search.opened("/dev/usb0");
    CHECK(here.round() == Paths{"/dev/usb0", "/dev/named", "/dev/s0"});
    // A port that is open and mute is kept; only others are looked at.
    CHECK(here.round("/dev/usb0") == Paths{"/dev/named", "/dev/s0"});
    CHECK(here.round("/dev/usb0") == Paths{"/dev/named", "/dev/s0"});
}

TEST_CASE("looks come 250 ms apart at first, then ever further, 2 s at most, and quick again once a rig was steady") {
    Computer here({}, "");
    std::vector<Duration> pauses;
    for (int i = 0; i < 6; ++i) pauses.push_back(here.search.pause(start));
    CHECK(pauses == std::vector<Duration>{250ms, 500ms, 1s, 2s, 2s, 2s});
    SUBCASE("one that ends at once is no steady rig") {
        here.search.answered(start);
        CHECK(here.search.pause(start + 1s) == Duration(2s));
        here.search.lost(start + 2s);
        CHECK(here.search.pause(start + 60s) == Duration(2s));
    }
    SUBCASE("one that stayed is") {
        here.search.answered(start);
        CHECK(here.search.pause(start + 6s) == Duration(250ms));
    }
}

TEST_CASE("each state is said once, and again only after a rig was steady in between") {
    Computer here({}, "");
    CHECK(here.search.first_time("gone", start));
    CHECK(here.search.first_time("mute", start));
    for (int i = 0; i < 100; ++i) CHECK_FALSE(here.search.first_time("gone", start + i * 1s));
    here.search.answered(start + 100s);
    CHECK_FALSE(here.search.first_time("gone", start + 101s));
    CHECK(here.search.first_time("gone", start + 110s));
    // Its silence may be noticed before its port fails.
    here.search.lost(start + 200s);
    CHECK(here.search.first_time("gone", start + 203s));
    CHECK_FALSE(here.search.first_time("gone", start + 204s));
}

TEST_CASE("a named path that is not there is waited for, one that is refused, a second") {
    Computer here({}, "/dev/named");
    const auto look = [&](const Error& why, Duration after) {
        static_cast<void>(here.round());
        here.search.refused("/dev/named", why, start + after);
        return here.search.given_up(start + after);
    };
    CHECK_FALSE(look(missing, 9s));
    SUBCASE("until patience is over") {
        const auto why = look(missing, 10s);
        REQUIRE(why);
        CHECK(why->what == "missing");
    }
    SUBCASE("it comes, and belongs to root until its rules have run") {
        CHECK_FALSE(look(no_permission, 9s + 100ms));
        CHECK_FALSE(look(no_permission, 9s + 900ms));
        const auto why = look(no_permission, 10s + 100ms);
        REQUIRE(why);
        CHECK(why->what == "permission denied");
    }
}

TEST_CASE("a search that finds nothing says what to try, or what a USB port refused") {
    SUBCASE("a built-in port that can't do the baud is no news") {
        Computer here({plain("/dev/s0")}, "");
        CHECK(here.round() == Paths{"/dev/s0"});
        here.search.refused("/dev/s0", no_baud, start);
        here.search.mute("/dev/s0");
        CHECK_FALSE(here.search.given_up(start + 9s));
        const auto why = here.search.given_up(start + 10s);
        REQUIRE(why);
        CHECK(why->kind == ErrorKind::not_found);
        CHECK(why->to_do.find("--rig simulated") != std::string::npos);
        CHECK(why->to_do.find("pseudo-terminal") != std::string::npos);
    }
    SUBCASE("a USB port that is refused") {
        Computer here({usb("/dev/usb0"), plain("/dev/s0")}, "");
        static_cast<void>(here.round());
        here.search.refused("/dev/usb0", in_use, start);
        here.search.refused("/dev/s0", no_baud, start);
        CHECK_FALSE(here.search.given_up(start + 9s));
        CHECK(here.search.given_up(start + 10s)->what == "in use");
    }
    SUBCASE("every port has its turn before the search ends") {
        Computer here({usb("/dev/usb0"), usb("/dev/usb1")}, "");
        CHECK(here.search.next("") == "/dev/usb0");
        here.search.mute("/dev/usb0");
        CHECK_FALSE(here.search.given_up(start + 11s));
        CHECK(here.search.next("/dev/usb0") == "/dev/usb1");
        CHECK_FALSE(here.search.next("/dev/usb1"));
        CHECK(here.search.given_up(start + 16s));
    }
    SUBCASE("once a rig has answered there is no giving up") {
        Computer here({}, "");
        here.search.answered(start);
        here.search.lost(start + 1s);
        static_cast<void>(here.round());
        CHECK_FALSE(here.search.given_up(start + 3600s));
    }
}

TEST_CASE("a path is opened as its owner's until it has ended once, afterwards it must look like a rig's") {
    Computer here({usb("/dev/usb0")}, "/dev/named");
    CHECK(here.search.claim("/dev/named") == PortClaim::named);
    CHECK(here.search.claim("/dev/usb0") == PortClaim::found);
    here.search.ended();
    CHECK(here.search.claim("/dev/named") == PortClaim::found);
}
