// The tables, roles and policies of a club's server, as the steps that lead from one version to the next, and the look
// at one that is there.
//
// A step, once released, is never changed; a new need is a new step at the end. The columns of athletes, measures,
// sessions, reps and totals are those of the store's visitor lists: what is missing is added after the steps. One
// thread at a time; fails as the connection does, and (incompatible) for a server that a newer breakstep prepared.
#pragma once

#include <cstdint>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "club/sharing/connection.hpp"

namespace breakstep::sharing {

/// Step i leads from version i to version i + 1.
[[nodiscard]] std::span<const std::string_view> server_steps();
[[nodiscard]] inline std::int32_t newest_server_version() { return static_cast<std::int32_t>(server_steps().size()); }

/// Journals and reps lie in parts by half a year and club; sessions that begin at an odd time in the first or last.
[[nodiscard]] std::int32_t term_of(std::int64_t unix_seconds);

struct Prepared {
    std::int32_t version_before = 0, version = 0;  ///< 0: the database held nothing of ours
    std::vector<std::string> columns_added;        ///< "reps.retreated"
};
/// Brings an empty database, or one of an older version, up to date; all of it or nothing. The login must be the
/// database's owner and may make roles.
[[nodiscard]] Expected<Prepared> prepare_server(Connection& connection);

/// Whether laptops of this version can work with the server: its version and columns. Fails (not_found) where nothing
/// was prepared.
[[nodiscard]] Expected<void> check_server(Connection& connection);

enum class May { club, coach, federation };
[[nodiscard]] std::string_view word(May may);
/// Makes the club and the login where they are missing (without a password), and ties the one to the other.
[[nodiscard]] Expected<void> let_in(Connection& connection, const std::string& club, const std::string& login, May may);

}  // namespace breakstep::sharing
