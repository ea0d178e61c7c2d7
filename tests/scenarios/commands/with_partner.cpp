// `demo --partner` as it is typed, read by its JSON alone: phases of a real leg and contacts in them, against the
// truth.
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>
#include <string>

#include "support/room.hpp"

using namespace breakstep::testing;

namespace {

nlohmann::json last_line(const Said& said) {
    const std::string text = said.out.substr(0, said.out.find_last_not_of('\n') + 1);
    const auto line = text.find_last_of('\n');
    return nlohmann::json::parse(line == std::string::npos ? text : text.substr(line + 1));
}

}  // namespace

TEST_CASE("a partner's leg is told as it was: phases, borders within what is stated, contacts where they fell") {
    const Room room;
    const Said said = room.run("demo --partner --fast --headless --json --seed 3 --contacts 150 --store p.store");
    REQUIRE_MESSAGE(said.code == 0, said.err);
    const auto demo = last_line(said);
    std::size_t borders = 0, inside = 0, contacts = 0, right = 0, obeyed = 0, otherwise = 0, impossible = 0;
    for (const auto& rep : demo.at("reps")) {
        CHECK(rep.contains("asked_kind"));
        CHECK(rep.contains("came_kind"));
        if (rep.at("obeyed") == true) ++obeyed;
        if (rep.at("obeyed") == false) ++otherwise;
        const auto& truth = rep.at("truth_phases");
        if (rep.at("void_reason") == "impossible_leg") {
            ++impossible;
            CHECK(rep.at("impossible").is_string());
        }
        if (truth.empty() || rep.at("verdict") == "void") continue;
        CHECK(rep.at("came_kind") == rep.at("truth_kind"));
        const auto& phases = rep.at("phases");
        REQUIRE(phases.size() == truth.size());
        double nearest = 1e9, uncertainty = 0;
        for (std::size_t i = 0; i < phases.size(); ++i) {
            CHECK(phases[i].at("phase") == truth[i].at("phase"));
            const double bound = phases[i].at("uncertainty_ms");
            ++borders;
            if (std::abs(phases[i].at("start_ms").get<double>() - truth[i].at("start_ms").get<double>()) <= bound)
                ++inside;
            if (rep.at("contact_ms").is_null()) continue;
            const double off = std::abs(rep.at("contact_ms").get<double>() - truth[i].at("start_ms").get<double>());
            if (off < nearest) {
                nearest = off;
                uncertainty = bound;
            }
        }
        if (rep.at("contact_ms").is_null()) continue;
        if (!rep.at("uncertainty_ms").is_null())
            uncertainty = std::max(uncertainty, rep.at("uncertainty_ms").get<double>());
        if (nearest <= uncertainty) continue;
        const double contact = rep.at("contact_ms");
        std::string fell = "guard";
        for (const auto& phase : truth)
            if (phase.at("start_ms").get<double>() <= contact) fell = phase.at("phase");
        // Where nothing follows a gap or hands, their end is the drill's rule and no gate's.
        const bool by_rule = (fell == "gap" || fell == "hands") && rep.at("phase") == "guard";
        ++contacts;
        if (by_rule || rep.at("phase") == fell) ++right;
    }
    CHECK(contacts >= 150);
    CHECK(right == contacts);
    CHECK(static_cast<double>(inside) >= 0.99 * static_cast<double>(borders));
    CHECK(obeyed > 5 * otherwise);
    CHECK(otherwise > 0);
    CHECK(demo.at("second_lifts") > 0);
    CHECK(demo.at("second_lifts_as_drop") == 0);
    CHECK(demo.at("bounces") > 0);
    CHECK(demo.at("bounces_as_lift") == 0);
    CHECK(demo.at("rescored_otherwise") == 0);

    SUBCASE("a session out of the store scores again to the bit") {
        const Said again = room.run("rescore 1 --json --store p.store");
        CHECK_MESSAGE(again.code == 0, again.err);
        CHECK(last_line(again).at("sessions")[0].at("partner") == "Curlew");
    }
}
