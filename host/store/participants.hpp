// Who was erased takes part in nobody else's sessions any more: the one rewrite of a journal. In the first record of a
// session the partner's id becomes 0; nothing else of it changes, not even what a newer version wrote there. Internal
// to host/store; in the caller's transaction; throws as SQLiteCpp does.
#pragma once

#include <SQLiteCpp/SQLiteCpp.h>

#include "core/error.hpp"
#include "core/journal/identities.hpp"

namespace breakstep {

/// In all sessions; the sums over those that change are renewed. Fails (damaged) where a record can't be read.
[[nodiscard]] Expected<void> forget_participant(SQLite::Database& database, AthleteId athlete);
/// In one session, everybody who was erased; for a session that came from elsewhere. Sums are the caller's.
[[nodiscard]] Expected<void> forget_erased_participants(SQLite::Database& database, std::int64_t session);

}  // namespace breakstep
