// club-server: a database is prepared, looked at, and logins are let in.
#include <fmt/format.h>

#include <iostream>

#include "cli/clubs/clubs.hpp"
#include "club/sharing/server_schema.hpp"

namespace breakstep {
namespace {

sharing::May may_typed(const std::string& typed) {
    if (typed == "coach") return sharing::May::coach;
    return typed == "federation" ? sharing::May::federation : sharing::May::club;
}

void say(const sharing::Prepared& prepared, const std::string& shown) {
    if (prepared.version_before == prepared.version && prepared.columns_added.empty())
        std::cout << fmt::format("{} was prepared already: tables of version {}\n", shown, prepared.version);
    else if (prepared.version_before == 0)
        std::cout << fmt::format("{} is prepared: tables of version {}\n", shown, prepared.version);
    else
        std::cout << fmt::format("{} is brought up to date: tables of version {}, before {}\n", shown, prepared.version,
                                 prepared.version_before);
    for (const std::string& column : prepared.columns_added) std::cout << "added " << column << '\n';
}

}  // namespace

int prepare_club_server(const ClubOptions& options) {
    const auto url = sharing::server_url(options.url);
    if (!url) return complain(url.error());
    if (!options.login.empty() && options.club.empty() && options.may != "federation")
        return complain({ErrorKind::bad_input, "whose laptop the login " + options.login + " is was not said",
                         "name the club with --club NAME"});
    auto connection = sharing::Connection::open(*url);
    if (!connection) return complain(connection.error());
    if (options.check) {
        if (const auto checked = sharing::check_server(*connection); !checked) return complain(checked.error());
        std::cout << fmt::format("{} is ready\n", url->shown);
        return exit_done;
    }
    const auto prepared = sharing::prepare_server(*connection);
    if (!prepared) return complain(prepared.error());
    say(*prepared, url->shown);
    if (options.login.empty()) return exit_done;
    const sharing::May may = may_typed(options.may);
    if (const auto let = sharing::let_in(*connection, options.club, options.login, may); !let)
        return complain(let.error());
    std::cout << fmt::format("the login {} may connect as {}{}{}; give it a password in psql: \\password {}\n",
                             options.login, may == sharing::May::federation ? "a " : "a ", options.may,
                             may == sharing::May::federation ? "" : " of " + options.club, options.login);
    return exit_done;
}

}  // namespace breakstep
