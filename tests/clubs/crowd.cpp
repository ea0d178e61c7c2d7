#include "support/crowd.hpp"

#include <cstdio>

using namespace breakstep::testing;

TEST_CASE("eight laptops at once, 500 cuts, 20 kills: every record once, to the byte") {
    Crowd crowd;
    crowd.laptops = 8;
    crowd.sessions_each = 200;
    crowd.records = 60;
    crowd.reps = 20;
    crowd.cuts = 500;
    crowd.cut_bytes_max = 60'000;
    crowd.kills = 20;
    crowd.patience_seconds = 300;
    const CrowdSeen seen = share_in_a_crowd(crowd);
    CHECK(seen.cuts >= crowd.cuts);
    CHECK(seen.kills == crowd.kills);
    std::printf("%d laptops, %lld sessions, %lld records: %d cuts, %d kills, %lld connections\n", crowd.laptops,
                static_cast<long long>(seen.sessions), static_cast<long long>(seen.records), seen.cuts, seen.kills,
                static_cast<long long>(seen.connections));
}
