#include <algorithm>

#include "club/term/known_prior.hpp"
#include "support/clubs_tests.hpp"

using namespace breakstep;
using namespace breakstep::testing;

namespace {

PlantedTerm small_term() {
    PlantedTerm term;
    term.athletes = 5;
    term.sessions = 6;
    term.reps = 30;
    return term;
}

}  // namespace

TEST_CASE("a second laptop fetches what the first shared, and reads the same progress") {
    const ClubServer server;
    const Room room;
    prepare(room, server);
    CHECK(has(must_run(room, "club-server " + server.url("postgres")).out, "was prepared already"));
    must_run(room, "club-server --check " + server.url("saltmarsh"));
    plant_shared(room.file("a.db"), small_term());

    const auto first = run_json(room, "share --store a.db --to " + server.url("saltmarsh"));
    CHECK(first.at("sessions") == 30);
    CHECK(first.at("reps") == 900);
    CHECK(first.at("athletes_sent") == 5);
    const auto again = run_json(room, "share --store a.db --to " + server.url("saltmarsh"));
    CHECK(again.at("sessions") == 0);
    CHECK(again.at("events") == 0);
    CHECK(again.at("reps") == 0);
    CHECK(again.at("athletes_sent") == 0);
    CHECK(contents(server) == contents(*opened(room.file("a.db"))));

    const auto fetched = run_json(room, "fetch --store b.db --from " + server.url("saltmarsh"));
    CHECK(fetched.at("sessions") == 30);
    CHECK(fetched.at("athletes_taken") == 5);
    CHECK(contents(*opened(room.file("b.db"))) == contents(*opened(room.file("a.db"))));
    CHECK(run_json(room, "fetch --store b.db --from " + server.url("saltmarsh")).at("sessions") == 0);
    const std::string progress = must_run(room, "progress --json --store a.db").out;
    CHECK(has(progress, "Bird 104"));
    CHECK(must_run(room, "progress --json --store b.db").out == progress);
    must_run(room, "check --store b.db");

    // What the second laptop adds comes back to the first.
    {
        const auto store = opened(room.file("b.db"), StoreMode::inline_writes);
        PlantedTerm more = small_term();
        more.first_unix_seconds += 90 * 86'400;
        Random random(77);
        plant_session(*store, more, store->find_athlete("Bird 100").value()->id, 0, 1, random);
        must(store->close());
    }
    CHECK(run_json(room, "share --store b.db --to " + server.url("saltmarsh")).at("sessions") == 1);
    CHECK(run_json(room, "fetch --store a.db --from " + server.url("saltmarsh")).at("sessions") == 1);
    CHECK(must_run(room, "progress --json --store a.db").out == must_run(room, "progress --json --store b.db").out);
}

TEST_CASE("what is known of an athlete's rhythm is the same on every laptop, whichever way the sessions came there") {
    const ClubServer server;
    const Room room;
    prepare(room, server);
    const std::string to = " --to " + server.url("saltmarsh"), from = " --from " + server.url("saltmarsh");
    must_run(
        room,
        "athletes add Heron --consent-on 2020-01-01 --consent-by herself --consent-share-on 2020-01-01 --store a.db");
    must_run(room, "share --store a.db" + to);
    must_run(room, "fetch --store b.db" + from);
    // Eight days ago on the second laptop, then five times on the first: the prior is made of the newest five.
    const auto train = [&](const char* file, int days_ago) {
        const OddMachine then("BREAKSTEP_TEST_CLOCK_S", std::to_string(-86'400 * days_ago));
        must_run(room,
                 fmt::format("drill drop-of-a-single-kick --athlete Heron --rig simulated --fast --seed {} --store {}",
                             days_ago, file));
    };
    train("b.db", 8);
    for (const int days_ago : {7, 6, 5, 4, 3}) train("a.db", days_ago);
    must_run(room, "share --store b.db" + to);
    must_run(room, "share --store a.db" + to);
    must_run(room, "fetch --store a.db" + from);
    must_run(room, "fetch --store b.db" + from);
    const auto a = opened(room.file("a.db")), b = opened(room.file("b.db"));
    const AthleteId heron = a->find_athlete("Heron").value()->id;
    const std::string known = known_prior(*a, heron).value();
    CHECK(known == known_prior(*b, heron).value());
    // It says something, and the oldest session is none of the five.
    CHECK(known != known_prior(*a, AthleteId{1}).value());
    CHECK(a->sessions().value().size() == 6);
    CHECK(must_run(room, "progress --json --store a.db").out == must_run(room, "progress --json --store b.db").out);
}
