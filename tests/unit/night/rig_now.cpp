// The rig as the coach looks after it: strikes and gates as they were told, notices the newest first.
#include <doctest/doctest.h>

#include "hall/evening/rig_now.hpp"

using namespace breakstep;

TEST_CASE("before a rig answered nothing is there, and notices stand the newest first, twelve at most") {
    const Link link(LinkSettings{}, 1);
    RigNow rig;
    const HostTime zero{};
    RigNowSeen seen = rig.seen(link, zero);
    CHECK_FALSE(seen.answers);
    CHECK(seen.board.empty());
    CHECK(seen.parts.empty());
    CHECK_FALSE(seen.bound_us);
    for (int i = 0; i < 20; ++i) rig.notice("notice " + std::to_string(i), zero + std::chrono::seconds(i));
    seen = rig.seen(link, zero + 39s);
    REQUIRE(seen.notices.size() == 12);
    CHECK(seen.notices.front().words == "notice 19");
    CHECK(seen.notices.front().ago_s == 20);
    CHECK(seen.notices.back().words == "notice 8");
}

TEST_CASE("a rig that went away says since when, until it is back") {
    const Link link(LinkSettings{}, 1);
    RigNow rig;
    const HostTime zero{};
    rig.fold(RigLost{VoidReason::link_lost}, zero + 5s);
    CHECK(rig.seen(link, zero + 12s).heard_s == 7);
    rig.fold(RigConnected{}, zero + 20s);
    CHECK_FALSE(rig.seen(link, zero + 25s).heard_s);
}
