#include "store/club_changes.hpp"

#include <chrono>

#include "store/athlete_fields.hpp"
#include "store/values.hpp"
#include "store/whole_rows.hpp"

namespace breakstep {
namespace {

std::int64_t now_unix_ms() {
    return std::chrono::duration_cast<std::chrono::milliseconds>(std::chrono::system_clock::now().time_since_epoch())
        .count();
}

void name_this_computer(SQLite::Database& database) {
    database.exec("INSERT INTO computer (name) SELECT randomblob(8) WHERE NOT EXISTS (SELECT 1 FROM computer)");
}

}  // namespace

void note_changes(SQLite::Database& database, const Athlete& after) {
    const std::optional<Athlete> before = find_athlete(database, after.id);
    if (!before) return;
    name_this_computer(database);
    // Later than the change before, even where the clock was set back.
    SQLite::Statement note(database,
                           "INSERT INTO athlete_changes (athlete, field, changed_unix_ms, author) SELECT ?1, ?2, ?3, "
                           "name FROM computer WHERE true ORDER BY number LIMIT 1 ON CONFLICT DO UPDATE SET "
                           "changed_unix_ms = max(excluded.changed_unix_ms, changed_unix_ms + 1), author = "
                           "excluded.author");
    for (const std::string_view field : athlete_fields) {
        if (is_same_field(field, *before, after)) continue;
        const std::string name(field);
        columns::Binder binder(note);
        binder.put(after.id);
        binder.put(name);
        binder.put(now_unix_ms());
        note.exec();
        note.reset();
    }
}

void note_erasure(SQLite::Database& database, AthleteId athlete) {
    const auto id = static_cast<std::int64_t>(athlete);
    SQLite::Statement note(database,
                           "INSERT OR IGNORE INTO erased (athlete, erased_unix_ms) SELECT ?1, ?2 UNION SELECT gone, ?2 "
                           "FROM joined WHERE kept = ?1");
    note.bind(1, id);
    note.bind(2, now_unix_ms());
    note.exec();
    for (const char* sql : {"DELETE FROM athlete_changes WHERE athlete = ?", "DELETE FROM joined WHERE kept = ?"}) {
        SQLite::Statement forget(database, sql);
        forget.bind(1, id);
        forget.exec();
    }
}

}  // namespace breakstep
