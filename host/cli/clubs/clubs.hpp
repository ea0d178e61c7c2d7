// The commands for clubs that share a server: club-server, share, fetch. The manners and the exit codes are those of
// commands.hpp. Main thread.
#pragma once

#include <functional>
#include <optional>
#include <string>

#include "cli/commands.hpp"

namespace CLI {
class App;
}

namespace breakstep {

struct ClubOptions {
    CommonOptions common;
    std::string url;
    std::string club, login, may = "club";  ///< club-server: who is let in; "" for nobody
    bool check = false;                     ///< club-server: look only
    double patience_seconds = 20;
    std::optional<double> every_seconds;  ///< share: again and again
};

int prepare_club_server(const ClubOptions& options);
int share_with_server(const ClubOptions& options);
int fetch_from_server(const ClubOptions& options);

void add_clubs(CLI::App& app, std::function<int()>& run);

}  // namespace breakstep
