// Figures, printed and never judged: a term of one club sent to an empty server, read there, and read again among many
// clubs that the server itself made out of it.
#include <chrono>
#include <cstdio>
#include <cstdlib>

#include "support/clubs_tests.hpp"

using namespace breakstep;
using namespace breakstep::testing;

namespace {

double seconds_of(const std::function<void()>& work) {
    const auto begin = std::chrono::steady_clock::now();
    work();
    return std::chrono::duration<double>(std::chrono::steady_clock::now() - begin).count();
}

std::string names_but(const ClubServer& server, const std::string& table, const std::string& without) {
    return server.ask(
        "SELECT string_agg(attname, ', ' ORDER BY attnum) FROM pg_attribute WHERE attrelid = 'breakstep." + table +
        "'::regclass AND attnum > 0 AND NOT attisdropped AND attname NOT IN (" + without + ")")[0];
}

/// Every further club is the first with other ids; of one in a hundred the events too.
void multiply(const ClubServer& server, int clubs) {
    const std::string sessions = names_but(server, "sessions", "'club', 'id', 'athlete'");
    const std::string totals = names_but(server, "totals", "'club', 'session'");
    const std::string reps = names_but(server, "reps", "'club', 'session'");
    const std::string athletes = names_but(server, "athletes", "'club', 'id'");
    (void)server.ask(
        fmt::format("INSERT INTO breakstep.clubs (name) SELECT 'Club ' || g FROM generate_series(2, {}) g", clubs));
    const std::string others = "(SELECT id AS other FROM breakstep.clubs WHERE id > 1) o";
    const auto copy = [&](const std::string& table, const std::string& keys, const std::string& values,
                          const std::string& rest, const std::string& where = "") {
        (void)server.ask(
            fmt::format("INSERT INTO breakstep.{} (club, {}, {}) SELECT other, {}, {} FROM breakstep.{} t, {} "
                        "WHERE t.club = 1{}",
                        table, keys, rest, values, rest, table, others, where));
    };
    copy("athletes", "id", "t.id # other", athletes);
    copy("sessions", "id, athlete", "t.id # other, t.athlete # other", sessions);
    copy("totals", "session", "t.session # other", totals);
    copy("reps", "session", "t.session # other", reps);
    copy("events", "session", "t.session # other", "term, position, kind, recorded_ns, bytes", " AND other % 100 = 0");
    (void)server.ask("ANALYZE");
}

}  // namespace

TEST_CASE("figures of sharing a term, and of reading it among many clubs") {
    const char* wanted = std::getenv("BREAKSTEP_CLUBS");
    const int clubs = wanted == nullptr ? 1000 : std::atoi(wanted);
    const ClubServer server;
    const Room room;
    prepare(room, server);
    const std::string url = server.url("saltmarsh");
    {
        PlantedTerm term;  // 30 athletes, 40 sessions of 60 reps
        plant_shared(room.file("a.db"), term);
        const double first = seconds_of([&] { must_run_long(room, "share --store a.db --to " + url); });
        const double again = seconds_of([&] { must_run_long(room, "share --store a.db --to " + url); });
        const double rows = 72'000;
        const double bytes = std::stod(server.ask(
            "SELECT sum(pg_total_relation_size(inhrelid)) FROM pg_inherits JOIN pg_class c ON c.oid = inhrelid WHERE "
            "c.relname LIKE 'reps\\_%\\_%'")[0]);
        std::printf("a rep's result: %.0f bytes on the server, with its index\n", bytes / rows);
        std::printf("72000 reps shared over loopback: %.1f s (%.0f reps a second); again, with nothing new: %.1f s\n",
                    first, 72'000 / first, again);
        const double fetched = seconds_of([&] { must_run_long(room, "fetch --store b.db --from " + url); });
        std::printf("fetched into an empty store: %.1f s\n", fetched);
    }
    {
        const Room small;
        PlantedTerm term;
        term.sessions = 20;
        term.reps = 17;  // about 10,000 reps: a thousand such clubs have ten million
        const ClubServer many;
        prepare(small, many);
        plant_shared(small.file("a.db"), term);
        const std::string there = many.url("saltmarsh");
        must_run_long(small, "share --store a.db --to " + there);
        const auto read = [&] { return seconds_of([&] { must_run_long(small, "progress --json --store " + there); }); };
        (void)read();
        const double alone = read();
        const double making = seconds_of([&] { multiply(many, clubs); });
        (void)read();
        const double among = read();
        const std::string reps = many.ask("SELECT count(*) FROM breakstep.reps")[0];
        const double bytes = std::stod(many.ask(
            "SELECT sum(pg_total_relation_size(inhrelid)) FROM pg_inherits JOIN pg_class c ON c.oid = inhrelid WHERE "
            "c.relname LIKE 'reps\\_%\\_%'")[0]);
        std::printf("%s reps of %d clubs (made in %.0f s): %.0f bytes a rep; a club's progress %.2f s, alone %.2f s\n",
                    reps.c_str(), clubs, making, bytes / std::stod(reps), among, alone);
    }
}
