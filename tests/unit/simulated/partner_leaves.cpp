// A simulated partner who steps out of the box in the midst of a kick leaves no beam broken behind.
#include <doctest/doctest.h>

#include <map>

#include "devices/simulated/partner_model.hpp"

using namespace breakstep;

TEST_CASE("whoever steps out of the box in the midst of a kick leaves no beam broken") {
    for (std::uint64_t seed = 1; seed <= 20; ++seed) {
        CAPTURE(seed);
        PartnerSettings settings;
        settings.seed = seed;
        settings.ignores = settings.goes_early = 0;
        HostTime now{1s};
        PartnerModel partner(settings, now);
        AttackChoice kick;
        kick.kind = AttackKind::carry;
        partner.told(now, kick);
        partner.cued(now);
        std::map<GateRole, int> broken;
        const auto count = [&] {
            std::vector<AthleteAct> acts;
            partner.take_acts(acts);
            for (const AthleteAct& act : acts)
                if (const auto* beam = std::get_if<BeamAct>(&act)) broken[beam->gate] += beam->blocked ? 1 : -1;
        };
        // Until the leg is off the floor, or up.
        for (int i = 0; i < 200 && broken[GateRole::low] == 0; ++i) {
            partner.due(now += 10ms);
            count();
        }
        REQUIRE(broken[GateRole::low] == 1);
        for (std::uint64_t i = 0; i < seed * 2; ++i) partner.due(now += 10ms);
        count();
        partner.leave(now);
        count();
        for (const auto& [gate, times] : broken) CHECK(times == 0);
        CHECK_FALSE(partner.next_due().has_value());
        CHECK(partner.looks() == 0);
    }
}
