// The address of a club's server as it is typed: what may stand in it, and how the connection is kept from strangers.
// Any thread. Fails (bad_input) with what to type instead.
#pragma once

#include <string>
#include <utility>
#include <vector>

#include "core/error.hpp"

namespace breakstep::sharing {

struct ServerUrl {
    std::string shown;  ///< as it may be printed: no secret can stand in it
    /// What the connection is opened with, keyword by keyword.
    std::vector<std::pair<std::string, std::string>> parameters;
    bool is_local = false;  ///< a socket of this computer, or its loopback address
};

/// True for what begins as such an address does, and so is no file.
[[nodiscard]] bool is_server_url(const std::string& typed);

/// postgresql://[login@]host[:port]/database. A password in it is refused: it would stand in the list of processes, in
/// the shell's history and in logs. Outside this computer the connection is encrypted and the server proves its name
/// (sslmode=verify-full); a weaker sslmode is refused.
[[nodiscard]] Expected<ServerUrl> server_url(const std::string& typed);

}  // namespace breakstep::sharing
