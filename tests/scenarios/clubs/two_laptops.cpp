#include <algorithm>

#include "support/clubs_tests.hpp"
#include "support/cutting_proxy.hpp"

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
