#include "store/tonight.hpp"

#include <sys/stat.h>

#include <algorithm>
#include <string>
#include <system_error>

#include "files/new_file.hpp"
#include "files/place.hpp"
#include "store/identity.hpp"
#include "store/store_lock.hpp"

namespace breakstep {

namespace fs = std::filesystem;

namespace {

constexpr std::string_view ending = ".tonight.db";

// What holds content: the file and what SQLite keeps beside it while it is written.
std::optional<std::int64_t> changed_at(const fs::path& path) {
    struct stat status {};
    if (::lstat(path.c_str(), &status) != 0) return std::nullopt;
    return static_cast<std::int64_t>(status.st_mtime);
}

Expected<void> must_be_ours(const fs::path& tonight) {
    std::error_code problem;
    const bool link = fs::is_symlink(fs::symlink_status(tonight, problem));
    const Expected<Looks> looks = looks_of(tonight);
    if (!looks) return tl::make_unexpected(looks.error());
    if (!link && (*looks == Looks::store || *looks == Looks::empty || *looks == Looks::first_start_cut)) return {};
    return failure(ErrorKind::bad_input,
                   tonight.string() + " bears the name of an evening's file, and is none of breakstep's",
                   "move it to another folder: that name is for one evening's results");
}

}  // namespace

fs::path tonight_path(const fs::path& store) {
    fs::path tonight = store;
    if (tonight.extension() == ".db") tonight.replace_extension();
    return with_ending(tonight, std::string(ending));
}

Expected<void> may_hold_a_copy(const fs::path& copy) {
    if (!is_tonight(copy)) return {};
    return failure(ErrorKind::bad_input,
                   copy.string() + " bears the name of an evening's file, which is removed after it",
                   "choose a name that does not end in .tonight.db");
}

bool is_tonight(const fs::path& store) { return store.filename().string().ends_with(ending); }

std::optional<std::int64_t> last_recorded(const fs::path& tonight) {
    std::optional<std::int64_t> last = changed_at(tonight);
    for (const char* side : {"-wal", "-journal"})
        if (const auto changed = changed_at(with_ending(tonight, side))) last = std::max(last.value_or(0), *changed);
    return last;
}

Expected<void> remove_tonight(const fs::path& tonight) {
    if (!last_recorded(tonight)) return {};
    if (Expected<void> ours = must_be_ours(tonight); !ours) return ours;
    const Expected<StoreLock> lock = StoreLock::take(tonight);
    if (!lock) return tl::make_unexpected(lock.error());
    // The log first: a file whose log is gone is an older state of it, a log without its file is nobody's any more.
    for (const char* side : side_files)
        if (Expected<void> removed = files::remove_file(with_ending(tonight, side)); !removed) return removed;
    if (Expected<void> removed = files::remove_file(tonight); !removed) return removed;
    if (files::remove_left_over(tonight)) remove_side_files(files::passing_name(tonight));
    return files::sync(tonight.parent_path().empty() ? fs::path(".") : tonight.parent_path());
}

}  // namespace breakstep
