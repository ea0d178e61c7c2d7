#include "support/clubs_tests.hpp"

using namespace breakstep;
using namespace breakstep::testing;

namespace {

/// Ten athletes of one club in a group of four and one of six.
void plant_groups(const std::string& file, std::uint64_t seed) {
    PlantedTerm term;
    term.athletes = 10;
    term.sessions = 2;
    term.reps = 12;
    term.seed = seed;
    plant_shared(file, term);
    const auto store = opened(file, StoreMode::inline_writes);
    for (int i = 0; i < term.athletes; ++i) {
        Athlete athlete = store->find_athlete(planted_name(i)).value().value();
        athlete.group = i < 4 ? "Four" : "Six";
        must(store->change_athlete(athlete));
    }
    must(store->close());
}

}  // namespace

TEST_CASE("each login sees its own club's rows in every table, and a federation only figures of five or more") {
    const ClubServer server;
    const Room room;
    prepare(room, server);
    prepare(room, server, "Fenwick", "fenwick");
    must_run(room, "club-server " + server.url("postgres") + " --club Fenwick --login fencoach --may coach");
    must_run(room, "club-server " + server.url("postgres") + " --login union --may federation");
    (void)server.ask("CREATE ROLE stranger LOGIN");
    plant_groups(room.file("a.db"), 1);
    plant_groups(room.file("b.db"), 2);
    {
        const auto store = opened(room.file("b.db"), StoreMode::inline_writes);
        const Measure measure{store->athletes().value().front().id, "reaction_ms", "2020-02-03", 300.25};
        must(store->add_all({}, {&measure, 1}));
        must(store->close());
    }
    must_run(room, "share --store a.db --to " + server.url("saltmarsh"));
    must_run(room, "share --store b.db --to " + server.url("fenwick"));

    // Every table there is, asked as every login for rows of a club that is not its own.
    const auto tables = server.ask(
        "SELECT c.relname FROM pg_class c JOIN pg_attribute a ON a.attrelid = c.oid AND a.attname = 'club' WHERE "
        "c.relnamespace = 'breakstep'::regnamespace AND c.relkind IN ('r', 'p', 'v', 'm') ORDER BY 1");
    CHECK(tables.size() > 25);
    const std::map<std::string, std::string> own{
        {"saltmarsh", "(SELECT id FROM breakstep.clubs WHERE name = 'Saltmarsh Hall')"},
        {"fenwick", "(SELECT id FROM breakstep.clubs WHERE name = 'Fenwick')"},
        {"fencoach", "(SELECT id FROM breakstep.clubs WHERE name = 'Fenwick')"},
        {"union", "-1"},
        {"stranger", "-1"}};
    int with_own_rows = 0;
    for (const auto& [login, club] : own) {
        CAPTURE(login);
        const std::string number = server.ask("SELECT " + club)[0];
        const ClubServer::Client client(server, login);
        for (const std::string& table : tables) {
            CAPTURE(table);
            const std::string others = " WHERE club IS DISTINCT FROM " + number;
            std::string refused;
            const auto seen = client.ask("SELECT count(*) FROM breakstep." + table + others, &refused);
            CHECK((!refused.empty() || seen == std::vector<std::string>{"0"}));
            const auto all = client.ask("SELECT count(*) FROM breakstep." + table, &refused);
            if (refused.empty() && number == "-1") CHECK(all == std::vector<std::string>{"0"});
            if (refused.empty() && all != std::vector<std::string>{"0"}) ++with_own_rows;
            // Nor may anyone remove another club's row, or give one to it.
            (void)client.ask("DELETE FROM breakstep." + table + others, &refused);
            (void)client.ask("UPDATE breakstep." + table + " SET club = club + 1", &refused);
            if (refused.empty()) CHECK(all == std::vector<std::string>{"0"});
        }
    }
    CHECK(with_own_rows >= 3 * 6);
    CHECK(server.ask("SELECT count(*) FROM breakstep.reps") == std::vector<std::string>{"480"});
    CHECK(server.ask("SELECT count(DISTINCT club) FROM breakstep.reps") == std::vector<std::string>{"2"});

    std::string refused;
    // Journals are only added to, and a coach only reads.
    for (const char* change : {"DELETE FROM breakstep.events", "UPDATE breakstep.events SET bytes = ''",
                               "INSERT INTO breakstep.clubs (name) VALUES ('x')", "SELECT * FROM breakstep.members"}) {
        (void)server.ask_as("fenwick", change, &refused);
        CHECK_MESSAGE(has(refused, "permission denied"), change);
    }
    for (const char* change : {"DELETE FROM breakstep.reps", "SELECT breakstep.erase(1, 1)",
                               "INSERT INTO breakstep.athletes (club, id) VALUES (breakstep.my_club(), 5)"}) {
        (void)server.ask_as("fencoach", change, &refused);
        CHECK_MESSAGE(has(refused, "permission denied"), change);
    }
    (void)server.ask_as(
        "fenwick", "INSERT INTO breakstep.athletes (club, id) SELECT id, 5 FROM (VALUES (1), (2)) c (id)", &refused);
    CHECK(has(refused, "row-level security"));
    // Another's login in one's own session changes nothing of whose rows they are.
    CHECK(server.ask_as("fenwick", "SET ROLE breakstep_club; SELECT count(DISTINCT club) FROM breakstep.reps") ==
          std::vector<std::string>{"1"});

    // A federation.
    CHECK(server.ask_as("union", "SELECT training_group FROM breakstep.groups()") ==
          std::vector<std::string>{"Six", "Six"});
    CHECK(server.ask_as("union", "SELECT reps FROM breakstep.group_figures('Fenwick', 'Six')") ==
          std::vector<std::string>{"144"});
    CHECK(server.ask_as("union", "SELECT * FROM breakstep.group_figures('Fenwick', 'Four')", &refused).empty());
    CHECK(has(refused, "five athletes or more"));
    (void)server.ask_as("fenwick", "SELECT * FROM breakstep.group_figures('Saltmarsh Hall', 'Six')", &refused);
    CHECK(has(refused, "permission denied"));

    // A coach reads the club's term on the server; what comes out is what the store at home says.
    for (const std::string command : {"progress --json", "progress --details", "export - --table reps",
                                      "export - --table sessions", "export - --table measures", "export - --json"})
        CHECK_MESSAGE(must_run(room, command + " --store " + server.url("fencoach")).out ==
                          must_run(room, command + " --store b.db").out,
                      command);
    must_run(room, "report group --format svg --out here --store b.db");
    const Said pages = must_run(room, "report group --format svg --out there --store " + server.url("fencoach"));
    CHECK(has(pages.err, "A server does not note"));
    int compared = 0;
    for (const auto& page : std::filesystem::directory_iterator(room.folder / "here")) {
        CHECK(room.text("here/" + page.path().filename().string()) ==
              room.text("there/" + page.path().filename().string()));
        compared += room.text("here/" + page.path().filename().string()).size() > 1000 ? 1 : 0;
    }
    CHECK(compared > 0);
    CHECK(has(room.run("progress --store " + server.url("union")).err, "belongs to no club"));
    CHECK(has(room.run("share --store b.db --to " + server.url("fencoach")).err, "not a laptop's of a club"));
    CHECK(has(room.run("athletes list --store " + server.url("fencoach")).err, "needs a store on this computer"));
}
