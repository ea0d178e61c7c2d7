// What the tests of clubs together share: stores with a term in them and everyone's yes to share, and looks at whether
// two stores, or a store and a server, hold the same.
#pragma once

#include <doctest/doctest.h>

#include <fmt/format.h>

#include <map>
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "store/store.hpp"
#include "support/club_server.hpp"
#include "support/planted_term.hpp"
#include "support/room.hpp"

namespace breakstep::testing {

inline std::unique_ptr<Store> opened(const std::string& file, StoreMode mode = StoreMode::read_only) {
    StoreOptions options;
    options.mode = mode;
    options.inline_commit_records = 1000;
    auto store = Store::open(file, options);
    const std::string why = store ? "" : store.error().text();
    REQUIRE_MESSAGE(store.has_value(), why);
    return std::move(*store);
}

inline void must(const Expected<void>& done) {
    const std::string why = done ? "" : done.error().text();
    REQUIRE_MESSAGE(done.has_value(), why);
}

inline void say_yes(Store& store, const std::string& call_sign) {
    auto athlete = store.find_athlete(call_sign).value().value();
    athlete.consent = Consent{"2020-01-01", "a guardian", ""};
    athlete.consent_share_on = "2020-01-01";
    must(store.change_athlete(athlete));
}

/// A new store with a planted term of athletes who all said yes to sharing.
inline void plant_shared(const std::string& file, const PlantedTerm& term) {
    const auto store = opened(file, StoreMode::inline_writes);
    REQUIRE(!plant(*store, term).empty());
    for (int i = 0; i < term.athletes; ++i) say_yes(*store, planted_name(i));
    must(store->close());
}

/// Every record, rep and total of every session, by the session's id.
inline std::map<SessionId, std::string> contents(const Store& store) {
    std::map<SessionId, std::string> all;
    const auto sessions = store.sessions().value();
    for (const SessionSummary& session : sessions) {
        std::string& text = all[session.id];
        REQUIRE(store
                    .read_raw_records(session.id,
                                      [&](const Store::RawRecord& record) {
                                          text += fmt::format("{} {} {} {}\n", record.position, record.kind,
                                                              record.recorded.time_since_epoch().count(), record.bytes);
                                      })
                    .has_value());
    }
    return all;
}

/// The same of a server, of whatever club.
inline std::map<SessionId, std::string> contents(const ClubServer& server) {
    std::map<SessionId, std::string> all;
    for (const std::string& row :
         server.ask("SELECT session || ' ' || position || ' ' || kind || ' ' || recorded_ns || ' ' || encode(bytes, "
                    "'hex') FROM breakstep.events ORDER BY session, position")) {
        const auto space = row.find(' ');
        const auto last = row.rfind(' ');
        std::string& text = all[SessionId{static_cast<std::uint64_t>(std::stoll(row.substr(0, space)))}];
        text += row.substr(space + 1, last - space);
        for (std::size_t i = last + 1; i + 1 < row.size(); i += 2)
            text += static_cast<char>(std::stoi(row.substr(i, 2), nullptr, 16));
        text += '\n';
    }
    return all;
}

/// While it lives, programs that are run stand on an odd machine (odd_machine.cpp).
class OddMachine {
  public:
    OddMachine(std::string name, const std::string& value) : name_(std::move(name)) {
        ::setenv(name_.c_str(), value.c_str(), 1);
        ::setenv("LD_PRELOAD", BREAKSTEP_ODD_MACHINE, 1);
    }
    ~OddMachine() {
        ::unsetenv("LD_PRELOAD");
        ::unsetenv(name_.c_str());
    }
    OddMachine(const OddMachine&) = delete;
    OddMachine& operator=(const OddMachine&) = delete;

  private:
    std::string name_;
};

inline Said must_run(const Room& room, const std::string& command) {
    Said said = room.run(command);
    REQUIRE_MESSAGE(said.code == 0, command << ": " << said.err);
    return said;
}

/// As Room::run, with the hang limit of what takes long.
inline Said run_long(const Room& room, const std::string& arguments) {
    const std::string command = fmt::format(
        "cd {0} && HOME={0} XDG_CONFIG_HOME= XDG_DATA_HOME= BREAKSTEP_CONFIG= timeout 3600 {1} {2} >out.txt 2>err.txt "
        "</dev/null",
        room.folder.string(), BREAKSTEP_PROGRAM, arguments);
    const int status = std::system(command.c_str());
    return {WIFEXITED(status) ? WEXITSTATUS(status) : -1, room.text("out.txt"), room.text("err.txt")};
}
inline Said must_run_long(const Room& room, const std::string& command) {
    Said said = run_long(room, command);
    REQUIRE_MESSAGE(said.code == 0, command << ": " << said.err);
    return said;
}

inline nlohmann::json run_json(const Room& room, const std::string& command) {
    return nlohmann::json::parse(must_run(room, command + " --json").out);
}

/// A server that is prepared for one club.
inline void prepare(const Room& room, const ClubServer& server, const std::string& club = "'Saltmarsh Hall'",
                    const std::string& login = "saltmarsh") {
    must_run(room, "club-server " + server.url("postgres") + " --club " + club + " --login " + login);
}

}  // namespace breakstep::testing
