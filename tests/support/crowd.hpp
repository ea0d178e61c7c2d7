// Several laptops at once, over lines that are cut, to a server that is killed. For the quick test and the long one.
#pragma once

#include <atomic>
#include <memory>
#include <thread>
#include <vector>

#include "support/clubs_tests.hpp"
#include "support/cutting_proxy.hpp"

namespace breakstep::testing {

struct Crowd {
    int laptops = 3, sessions_each = 8, records = 40, reps = 20;
    int cuts = 25, cut_bytes_max = 40'000;
    int kills = 2;
    double patience_seconds = 120;
    std::uint64_t seed = 1;
};

struct CrowdSeen {
    int cuts = 0, kills = 0;
    std::int64_t connections = 0, sessions = 0, records = 0;
};

/// A laptop's own athletes, with journals of events by chance.
inline void fill_laptop(const std::string& file, const Crowd& crowd, int laptop) {
    const auto store = opened(file, StoreMode::inline_writes);
    Random random(crowd.seed, static_cast<std::uint64_t>(100 + laptop));
    PlantedTerm term;
    for (int i = 0; i < crowd.sessions_each; ++i) {
        if (i % 10 == 0) {
            Athlete athlete;
            athlete.id = AthleteId{random.next() | (std::uint64_t{random.next()} << 32U) | 1U};
            athlete.call_sign = "Bird " + std::to_string(laptop) + "-" + std::to_string(i);
            must(store->add_athlete(athlete));
            say_yes(*store, athlete.call_sign);
        }
        SessionBegan began;
        began.session = SessionId{random.next() | (std::uint64_t{random.next()} << 32U) | 1U};
        began.athlete =
            store->find_athlete("Bird " + std::to_string(laptop) + "-" + std::to_string(i - i % 10)).value()->id;
        began.unix_seconds = term.first_unix_seconds + i * 40'000'000LL / crowd.sessions_each + laptop;
        began.drill.name = "drop-of-a-single-kick";
        std::vector<JournalRecord> records{{0, HostTime(0ns), began}};
        for (int at = 1; at < crowd.records; ++at) {
            std::string bytes;
            for (std::uint32_t n = random.below(90); n > 0; --n) bytes += static_cast<char>(random.below(256));
            records.push_back({at, HostTime(Duration(at * 1'000'000)), UnknownEvent{900, bytes}});
        }
        records.push_back({crowd.records, HostTime(9s), SessionEnded{SessionEnd::finished}});
        store->append(began.session, records);
        for (int rep = 0; rep < crowd.reps; ++rep) store->keep(began.session, planted_rep(rep, crowd.reps, .5, random));
        SessionTotals totals;
        totals.reps = crowd.reps;
        store->keep_totals(began.session, totals);
    }
    must(store->flush());
    must(store->close());
}

/// All laptops share until each is through. Every record is then on the server once, and nothing else.
inline CrowdSeen share_in_a_crowd(const Crowd& crowd) {
    ClubServer server;
    std::vector<std::unique_ptr<Room>> rooms;
    for (int i = 0; i < crowd.laptops; ++i) {
        rooms.push_back(std::make_unique<Room>());
        fill_laptop(rooms.back()->file("a.db"), crowd, i);
    }
    prepare(*rooms.front(), server);
    CuttingProxy line(server.port(), crowd.seed, crowd.cuts, crowd.cut_bytes_max);
    std::atomic<int> through{0};
    std::vector<Said> said(rooms.size());
    std::vector<std::thread> laptops;
    for (std::size_t i = 0; i < rooms.size(); ++i)
        laptops.emplace_back([&, i] {
            said[i] = run_long(*rooms[i], fmt::format("share --json --store a.db --patience {} --to {}",
                                                      crowd.patience_seconds, server.url("saltmarsh", line.port())));
            ++through;
        });
    CrowdSeen seen;
    // A kill each time so many more lines were cut: in the middle of the work on any machine.
    while (through < crowd.laptops) {
        if (seen.kills < crowd.kills && line.cut_so_far() > (seen.kills + 1) * crowd.cuts / (crowd.kills + 2)) {
            server.stop(SIGKILL);
            server.start();
            line.set_server(server.port());
            ++seen.kills;
        }
        ::usleep(2'000);
    }
    for (std::thread& laptop : laptops) laptop.join();
    std::map<SessionId, std::string> all;
    std::int64_t reps = 0;
    for (std::size_t i = 0; i < rooms.size(); ++i) {
        REQUIRE_MESSAGE(said[i].code == 0, said[i].err);
        const auto told = nlohmann::json::parse(said[i].out);
        seen.connections += told.at("connections").get<std::int64_t>();
        const auto store = opened(rooms[i]->file("a.db"));
        for (auto& [id, text] : contents(*store)) all.emplace(id, std::move(text));
        const auto sessions = store->sessions().value();
        for (const SessionSummary& session : sessions) {
            ++seen.sessions;
            seen.records += session.events;
            reps += session.reps;
        }
    }
    CHECK(contents(server) == all);
    CHECK(server.ask("SELECT count(*) FROM breakstep.events") == std::vector{std::to_string(seen.records)});
    CHECK(server.ask("SELECT count(*) FROM breakstep.sessions") == std::vector{std::to_string(seen.sessions)});
    CHECK(server.ask("SELECT count(*) FROM breakstep.reps") == std::vector{std::to_string(reps)});
    CHECK(server.ask("SELECT count(*) FROM breakstep.totals") == std::vector{std::to_string(seen.sessions)});
    CHECK(server.ask("SELECT count(*) FROM breakstep.sessions s LEFT JOIN (SELECT session, count(*) AS there FROM "
                     "breakstep.events GROUP BY session) e ON e.session = s.id WHERE events IS DISTINCT FROM there") ==
          std::vector<std::string>{"0"});
    seen.cuts = line.cut_so_far();
    return seen;
}

}  // namespace breakstep::testing
