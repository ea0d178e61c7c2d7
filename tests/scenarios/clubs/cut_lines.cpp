#include "support/crowd.hpp"

using namespace breakstep;
using namespace breakstep::testing;

TEST_CASE("laptops that share at once over cut lines, to a server that is killed, bring every record once") {
    const Crowd crowd;
    const CrowdSeen seen = share_in_a_crowd(crowd);
    CHECK(seen.cuts > crowd.cuts / 2);
    CHECK(seen.kills == crowd.kills);
    CHECK(seen.sessions == crowd.laptops * crowd.sessions_each);
}
