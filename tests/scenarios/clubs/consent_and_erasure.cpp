#include "support/clubs_tests.hpp"

using namespace breakstep;
using namespace breakstep::testing;

namespace {

/// Everything that stands in the server's tables of ours, as text.
std::string all_rows(const ClubServer& server) {
    std::string all;
    for (const std::string& table :
         server.ask("SELECT format('%I.%I', schemaname, tablename) FROM pg_tables WHERE schemaname = 'breakstep'"))
        for (const std::string& row : server.ask("SELECT t::text FROM ONLY " + table + " t")) all += row + '\n';
    return all;
}

std::string hex_of(const std::string& text) {
    std::string hex;
    for (const char c : text) hex += fmt::format("{:02x}", static_cast<unsigned char>(c));
    return hex;
}

std::string all_files(const Room& room) {
    std::string all;
    for (const auto& entry : std::filesystem::recursive_directory_iterator(room.folder)) {
        if (!entry.is_regular_file() || entry.path().extension() == ".txt") continue;
        std::ifstream file(entry.path(), std::ios::binary);
        all.append(std::istreambuf_iterator<char>(file), {});
    }
    return all;
}

/// An athlete with a mark in every text that a coach may type, and in the journal.
void add_marked(const std::string& file, const std::string& call_sign, const std::string& mark, bool share) {
    const auto store = opened(file, StoreMode::inline_writes);
    Random random(mark.size() + static_cast<unsigned char>(mark[0]) * 257U, static_cast<unsigned char>(mark[1]));
    Athlete athlete;
    athlete.id = AthleteId{random.next() | (std::uint64_t{random.next()} << 32U) | 1U};
    athlete.call_sign = call_sign;
    athlete.notes = mark;
    athlete.real_name = mark;
    athlete.consent = Consent{"2020-01-01", mark, ""};
    if (share) athlete.consent_share_on = "2020-01-01";
    must(store->add_athlete(athlete));
    PlantedTerm term;
    term.reps = 12;
    plant_session(*store, term, athlete.id, 0, 1, random);
    SessionBegan began;
    began.session = SessionId{random.next() | 1U};
    began.athlete = athlete.id;
    began.unix_seconds = term.first_unix_seconds + 7000;
    began.drill.name = mark;
    const JournalRecord first{0, HostTime(0ns), began}, second{1, HostTime(1s), UnknownEvent{900, mark}};
    store->append(began.session, std::vector{first, second});
    must(store->close());
}

}  // namespace

TEST_CASE(
    "who said no to sharing stays at home, who takes the yes back is taken off, who is erased is erased everywhere") {
    const ClubServer server;
    const Room here, there;
    prepare(here, server);
    const std::string to = " --to " + server.url("saltmarsh"), from = " --from " + server.url("saltmarsh");
    const std::string wren = "qwrenqxzvkwrenqx", heron = "hzheronvkxqheron", rook = "rkrookzzvxqrookk";
    add_marked(here.file("a.db"), "Wren", wren, false);
    add_marked(here.file("a.db"), "Heron", heron, true);
    add_marked(here.file("a.db"), "Rook", rook, true);
    const std::string late = here.file("late.db");

    // No yes to share: at home, whatever was asked.
    const auto shared = run_json(here, "share --store a.db" + to);
    CHECK(shared.at("sessions") == 4);
    CHECK(shared.at("sessions_at_home") == 2);
    CHECK(shared.at("athletes_not_shared") == 1);
    CHECK_FALSE(has(all_rows(server), wren));
    CHECK_FALSE(has(all_rows(server), hex_of(wren)));
    CHECK(has(all_rows(server), heron));
    CHECK(has(all_rows(server), hex_of(heron)));
    must_run(there, "fetch --store b.db" + from);
    CHECK(has(all_files(there), heron));
    CHECK(has(all_files(there), rook));
    CHECK_FALSE(has(all_files(there), wren));

    // A yes that is taken back on one laptop is taken back on the other, and the server holds nothing any more.
    must_run(here, "athletes change Rook --consent-share-on \"\" --store a.db");
    CHECK(run_json(here, "share --store a.db" + to).at("withdrawn") == 1);
    CHECK_FALSE(has(all_rows(server), rook));
    CHECK_FALSE(has(all_rows(server), hex_of(rook)));
    const auto back = run_json(there, "share --store b.db" + to);
    CHECK(back.at("athletes_not_shared") == 1);
    CHECK(back.at("sessions") == 0);
    CHECK_FALSE(has(all_rows(server), rook));
    CHECK(opened(there.file("b.db"))->find_athlete("Rook").value()->consent_share_on.empty());
    // And a later yes brings it all again.
    must_run(there, "athletes change Rook --consent-share-on 2020-02-01 --store b.db");
    CHECK(run_json(there, "share --store b.db" + to).at("sessions") == 2);
    CHECK(has(all_rows(server), hex_of(rook)));

    // Erased on one laptop: off the server at its next contact, off the other at the other's.
    must_run(here, "athletes erase Heron --yes --store a.db");
    CHECK_FALSE(has(all_files(here), heron));
    CHECK(run_json(here, "share --store a.db" + to).at("erased_there") == 1);
    CHECK_FALSE(has(all_rows(server), heron));
    CHECK_FALSE(has(all_rows(server), hex_of(heron)));
    must_run(there, "backup copy.db --store b.db");
    {
        // What the laptop that was away adds meanwhile does not bring the athlete back.
        const auto store = opened(there.file("b.db"), StoreMode::inline_writes);
        Random random(5);
        PlantedTerm term;
        term.reps = 5;
        plant_session(*store, term, store->find_athlete("Heron").value()->id, 0, 30, random);
        must(store->close());
    }
    const Said told = must_run(there, "share --store b.db" + to);
    CHECK(has(told.err, "Heron was erased elsewhere, and is erased here with 3 sessions"));
    CHECK(has(told.err, "copy.db"));
    CHECK_FALSE(has(all_rows(server), heron));
    CHECK_FALSE(opened(there.file("b.db"))->find_athlete("Heron").value().has_value());
    std::filesystem::remove(there.file("copy.db"));
    CHECK_FALSE(has(all_files(there), heron));
    CHECK(run_json(there, "share --store b.db" + to).at("sessions") == 0);
    CHECK(run_json(here, "fetch --store a.db" + from).at("sessions") == 0);
    CHECK_FALSE(has(all_files(here), heron));
    must_run(there, "check --store b.db");
}

TEST_CASE(
    "changes of athletes meet field by field, and an athlete made twice is shown, and joined by the coach alone") {
    const ClubServer server;
    const Room here, there;
    prepare(here, server);
    const std::string to = " --to " + server.url("saltmarsh"), from = " --from " + server.url("saltmarsh");
    add_marked(here.file("a.db"), "Heron", "hzheronvkxqheron", true);
    must_run(here, "share --store a.db" + to);
    must_run(there, "fetch --store b.db" + from);

    must_run(here, "athletes change Heron --grade \"blue belt\" --store a.db");
    must_run(there, "athletes change Heron --group Thursday --store b.db");
    must_run(here, "share --store a.db" + to);
    must_run(there, "share --store b.db" + to);
    must_run(here, "share --store a.db" + to);
    for (const std::string& file : {here.file("a.db"), there.file("b.db")}) {
        const Athlete heron = opened(file)->find_athlete("Heron").value().value();
        CHECK(heron.grade == "blue belt");
        CHECK(heron.group == "Thursday");
    }
    must_run(there, "athletes change Heron --grade \"red belt\" --store b.db");
    must_run(here, "share --store a.db" + to);  // with the older grade
    must_run(there, "share --store b.db" + to);
    must_run(here, "share --store a.db" + to);
    CHECK(opened(here.file("a.db"))->find_athlete("Heron").value()->grade == "red belt");

    // Made twice, on two laptops.
    add_marked(here.file("a.db"), "Rook", "rkrookzzvxqrookk", true);
    add_marked(there.file("b.db"), "rook", "zkrookaavxqrookz", true);
    must_run(here, "share --store a.db" + to);
    const auto twins = run_json(there, "share --store b.db" + to).at("twins");
    REQUIRE(twins.size() == 1);
    const std::string first = twins[0].at("there"), second = twins[0].at("here");
    must_run(there, "fetch --store b.db" + from);
    CHECK(has(there.run("athletes join " + second + " " + first + " --store b.db").err, "nothing was changed"));
    must_run(there, "athletes join " + second + " " + first + " --yes --store b.db");
    must_run(there, "share --store b.db" + to);
    must_run(here, "fetch --store a.db" + from);
    for (const Room* room : {&here, &there}) {
        const auto store = opened(room->file(room == &here ? "a.db" : "b.db"));
        const auto rook = store->find_athlete("rook").value();
        REQUIRE(rook.has_value());
        const auto all = store->sessions().value();
        int sessions = 0;
        for (const SessionSummary& session : all) sessions += session.athlete == rook->id ? 1 : 0;
        CHECK(sessions == 4);
        must_run(*room, "check --store " + store->path().string());
    }
    CHECK(server.ask("SELECT count(*) FROM breakstep.athletes") == std::vector<std::string>{"2"});
    CHECK(must_run(here, "progress --json --store a.db").out == must_run(there, "progress --json --store b.db").out);
}
