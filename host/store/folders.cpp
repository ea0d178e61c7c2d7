// The folders that reports and captures of the store's athletes were put into.
#include <filesystem>
#include <string>
#include <system_error>

#include "store/database.hpp"
#include "store/schema.hpp"
#include "store/store_state.hpp"

namespace breakstep {

Expected<std::vector<std::filesystem::path>> Store::folders_made_in() const { return state_->reader.folders_made_in(); }

Expected<bool> Store::note_made_in(const std::filesystem::path& given) const {
    std::error_code problem;
    std::filesystem::path folder =
        std::filesystem::weakly_canonical(std::filesystem::absolute(given, problem), problem);
    if (problem || folder.empty()) folder = given;
    if (!folder.has_filename()) folder = folder.parent_path();
    // Most often it is known, and the store is left as it is.
    if (const auto known = folders_made_in(); known)
        for (const std::filesystem::path& each : *known)
            if (each == folder) return true;
    // Through a connection of its own, as the note of a backup.
    Expected<bool> noted = guarded(state_->path, "written", [&] {
        SQLite::Database database(state_->path.string(), SQLite::OPEN_READWRITE, 10'000);
        if (database.execAndGet("PRAGMA user_version").getInt() != schema::newest_version()) return false;
        database.exec("PRAGMA secure_delete = ON; PRAGMA synchronous = FULL;");
        SQLite::Statement insert(
            database,
            "INSERT INTO made_in (folder) SELECT ?1 WHERE NOT EXISTS (SELECT 1 FROM made_in WHERE folder = ?1)");
        const std::string text = folder.string();
        insert.bindNoCopy(1, text);
        insert.exec();
        return true;
    });
    if (!noted && !may_be_written(state_->path)) return false;
    return noted;
}

}  // namespace breakstep
