// `progress` as it is typed: the squad against R, claims of planted terms, words and exit codes.
#include <doctest/doctest.h>

#include <cmath>
#include <nlohmann/json.hpp>
#include <set>
#include <string>

#include "core/iso_date.hpp"
#include "places.hpp"
#include "support/planted_term.hpp"
#include "support/room.hpp"

using namespace breakstep;
using namespace breakstep::testing;
using nlohmann::json;

namespace {

const std::string sleepstudy = BREAKSTEP_SOURCE_DIR "/tests/data/sleepstudy.csv";

json progress_of(const Room& room, const std::string& arguments) {
    const Said said = room.run("progress --json " + arguments);
    REQUIRE_MESSAGE(said.code == 0, said.err);
    return json::parse(said.out);
}

bool within(const json& value, double expected, double share) {
    return std::abs(value.get<double>() - expected) <= share * std::abs(expected);
}

/// A store with a planted term, made without any command.
void plant_into(const Room& room, const std::string& name, const PlantedTerm& wanted) {
    StoreOptions options;
    options.mode = StoreMode::inline_writes;
    options.inline_commit_records = 500;
    auto store = Store::open(room.file(name), options);
    REQUIRE(store.has_value());
    REQUIRE_FALSE(plant(**store, wanted).empty());
    REQUIRE((*store)->close().has_value());
}

std::string evening(int week) { return date_text(*date_from("2026-09-01") + std::chrono::days(7 * week)); }

/// 20 athletes, 10 weeks: those of even numbers fall by 3 day scatters in all, the others stay.
std::string simulated_term(Random& random) {
    std::string csv = "athlete,date,measure,value\n";
    for (int athlete = 0; athlete < 20; ++athlete) {
        const double level = 300 + 40 * random.normal();
        for (int week = 0; week < 10; ++week) {
            const double gain = athlete % 2 == 0 ? 30.0 * week / 9 : 0;
            if (random.chance(.1)) continue;
            csv += planted_name(athlete) + "," + evening(week) + ",reaction_ms," +
                   std::to_string(level - gain + 10 * random.normal() +
                                  10 * std::sqrt(20.0 / static_cast<double>(15 + random.below(46))) * random.normal()) +
                   "\n";
        }
    }
    return csv;
}

}  // namespace

TEST_CASE("the sleep study, imported as past results, has the squad that R's lme4 finds") {
    // lme4 1.1-31 in R 4.2, REML, correlated intercepts and slopes.
    const Room room;
    REQUIRE(room.run("import " + sleepstudy + " --store s.db").code == 0);
    const json squad = progress_of(room, "--store s.db").at("squad");
    REQUIRE(squad.size() == 1);
    const json& sleep = squad[0];
    CHECK(sleep.at("measure") == "reaction_ms");
    CHECK(within(sleep.at("intercept"), 251.405, 1e-3));
    CHECK(within(sleep.at("intercept_se"), 6.825, 1e-3));
    CHECK(within(sleep.at("slope_per_day"), 10.467, 1e-3));
    CHECK(within(sleep.at("slope_se"), 1.546, 1e-3));
    CHECK(within(sleep.at("sd_intercept"), 24.740, 1e-3));
    CHECK(within(sleep.at("sd_slope"), 5.922, 1e-3));
    CHECK(within(sleep.at("correlation"), .0655513, 1e-3));
    CHECK(within(sleep.at("sd_residual"), 25.592, 1e-3));
    CHECK(sleep.at("singular") == false);
    CHECK(sleep.at("lines").size() == 18);
    CHECK(sleep.at("first_date") == "2024-01-08");
}

TEST_CASE("nothing is claimed of an imported measure until someone says which way is better") {
    const Room room;
    REQUIRE(room.run("import " + sleepstudy + " --store s.db").code == 0);
    const json silent = progress_of(room, "--store s.db --end-of-term").at("athletes")[0];
    CHECK(silent.at("claim").at("measure").is_null());
    CHECK(silent.at("claim").at("claim") == "too few evenings");
    CHECK(silent.at("measures")[0].at("measure") == "reaction_ms");
    const Said page = room.run("progress --store s.db");
    CHECK(has(page.out, "Nothing is claimed"));

    room.write("set.toml", "[measures]\nreaction_ms.better = \"lower\"\n");
    const json worse = progress_of(room, "--store s.db --end-of-term --settings set.toml").at("athletes")[0];
    CHECK(worse.at("claim").at("claim") == "worse");
    CHECK(worse.at("claim").at("provisional") == false);
    CHECK(worse.at("claim").at("q").get<double>() < .05);
    const json better =
        progress_of(room, "--store s.db --end-of-term --measure reaction_ms --better higher").at("athletes")[0];
    CHECK(better.at("claim").at("claim") == "improved");
    CHECK(progress_of(room, "--store s.db --measure reaction_ms --better higher")
              .at("athletes")[0]
              .at("claim")
              .at("provisional") == true);
}

TEST_CASE("imported simulated terms: few of those who did not improve are called improved at the end of the term") {
    const Room room;
    const std::uint64_t seed = 77;
    Random random(seed);
    int wrong = 0, unchanged = 0, found = 0;
    for (int term = 0; term < 12; ++term) {
        const std::string store = "t" + std::to_string(term) + ".db";
        room.write("term.csv", simulated_term(random));
        REQUIRE(room.run("import term.csv --store " + store).code == 0);
        const json all = progress_of(room, "--store " + store + " --end-of-term --measure reaction_ms --better lower");
        for (const json& athlete : all.at("athletes")) {
            const int number = std::stoi(athlete.at("call_sign").get<std::string>().substr(5));
            const bool improved = athlete.at("claim").at("claim") == "improved";
            (number % 2 == 0 ? found : unchanged) += number % 2 == 0 ? (improved ? 1 : 0) : 1;
            if (number % 2 != 0) wrong += improved ? 1 : 0;
        }
    }
    MESSAGE("seed " << seed << ": false improved " << wrong << " of " << unchanged << ", found " << found << " of 120");
    CHECK(unchanged == 120);
    CHECK(wrong <= 6);
    CHECK(found > 40);
}

TEST_CASE("a planted term of our own tests: claims, cells and rhythm, in order of call-signs") {
    const Room room;
    PlantedTerm wanted;
    wanted.athletes = 6;
    wanted.sessions = 20;
    wanted.days_between = 7;
    plant_into(room, "p.db", wanted);
    const json all = progress_of(room, "--store p.db --end-of-term");
    CHECK(all.at("rule") == "end of term");
    REQUIRE(all.at("athletes").size() == 6);
    std::string before;
    for (const json& athlete : all.at("athletes")) {
        CHECK(before < athlete.at("call_sign").get<std::string>());
        before = athlete.at("call_sign").get<std::string>();
        CHECK(athlete.at("reps") == 1200);
        CHECK(athlete.at("scored") == 1000);
        CHECK(athlete.at("claim").at("evenings") == 10);
        CHECK(athlete.at("claim").at("cell").at("test") == true);
        CHECK(athlete.at("cells").size() == 4);
    }
    CHECK(all.at("athletes")[0].at("claim").at("claim") == "improved");
    CHECK(all.at("athletes")[0].at("timeable").at("named") == true);
    CHECK(all.at("athletes")[1].at("claim").at("claim") != "improved");
    CHECK(all.at("athletes")[1].at("timeable").at("named") == false);
    REQUIRE_FALSE(all.at("squad").empty());
    CHECK(all.at("squad")[0].at("measure") == "on-time rate, drop, front-hand, closed");

    const Said page = room.run("progress --store p.db --end-of-term");
    CHECK(has(page.out, "Bird 100 now meets the drop on time"));
    CHECK(has(page.out, "That is more than the ups and downs"));
    // The group's names are those that the group's page counts.
    CHECK(has(page.out, "The group: "));
    CHECK(has(page.out, "improved: Bird 100"));
    // Statistics are kept from the page, and told in the details.
    CHECK_FALSE(has(page.out, " p 0."));
    CHECK_FALSE(has(page.out, "d' "));
    const Said details = room.run("progress --store p.db --end-of-term --details --athlete 'bird 100'");
    CHECK(has(details.out, "two-sided p"));
    CHECK(has(details.out, "d' "));
    CHECK_FALSE(has(details.out, "Bird 101"));
    // A look during the term is stricter, and said to be one.
    CHECK(has(room.run("progress --store p.db").out, "The end of the term decides"));
    // Other days, another term.
    const json cut = progress_of(room, "--store p.db --from 2026-09-09 --to 2026-10-14");
    CHECK(cut.at("from") == "2026-09-09");
    CHECK(cut.at("athletes")[0].at("sessions") == 6);
}

TEST_CASE("what is typed wrong is told, with what to do") {
    const Room room;
    REQUIRE(room.run("import " + sleepstudy + " --store s.db").code == 0);
    const auto fails = [&](const std::string& arguments, const std::string& what, const std::string& to_do) {
        const Said said = room.run("progress --store s.db " + arguments);
        CAPTURE(arguments);
        CAPTURE(said.err);
        CHECK(said.code == 2);
        CHECK(said.out.empty());
        CHECK(has(said.err, what));
        CHECK(has(said.err, to_do));
    };
    fails("--from 2023-02-29", "2023-02-29", "year-month-day");
    fails("--from 2024-02-01 --to 2024-01-01", "ends before it begins", "--from");
    fails("--athlete Nobody", "Nobody", "athletes list");
    fails("--athlete 308 --from 2025-01-01", "308 has no session", "--from");
    fails("--group Nobody", "Nobody", "athletes list");
    fails("--measure jump_cm --better higher", "jump_cm", "reaction_ms");
    fails("--measure reaction_ms", "which way", "--better");
    fails("--better lower", "imported measure", "--measure");
    fails("--better sideways", "sideways", "");
    CHECK(room.run("progress --store nowhere.db").code != 0);
    CHECK(has(room.run("progress --store s.db --from 2025-01-01").out, "No sessions"));
}
