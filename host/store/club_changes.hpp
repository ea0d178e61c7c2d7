// The notes that changes leave for other stores of the club, written in the transaction that makes the change. Internal
// to host/store; throws as SQLiteCpp does. The time is this computer's.
#pragma once

#include <SQLiteCpp/SQLiteCpp.h>

#include "store/store_rows.hpp"

namespace breakstep {

/// Which fields `after` changes of the athlete as it still stands.
void note_changes(SQLite::Database& database, const Athlete& after);
/// That the athlete, and whoever was joined to it, is erased; of the athlete nothing but its number stays.
void note_erasure(SQLite::Database& database, AthleteId athlete);

}  // namespace breakstep
