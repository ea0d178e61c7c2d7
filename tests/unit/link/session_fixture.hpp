// A bench with a rig that is switched on, for the tests of finding and losing it.
#pragma once

#include <doctest/doctest.h>

#include <vector>

#include "support/link_bench.hpp"

namespace breakstep::test {

struct SessionFixture {
    explicit SessionFixture(LinkSettings link = {}, ModelRigSettings rig = {}, BenchSettings settings = {})
        : bench(link, rig, settings, 17) {
        bench.rig.power_on(bench.now());
    }
    LinkBench bench;

    void connect() {
        bench.plug();
        REQUIRE(bench.run_until(2s, [&] { return bench.link.connected(); }));
    }
    [[nodiscard]] std::vector<VoidReason> losses() const {
        std::vector<VoidReason> reasons;
        for (const RigLost& lost : bench.all_of<RigLost>()) reasons.push_back(lost.reason);
        return reasons;
    }
};

}  // namespace breakstep::test
