#include "club/athletes/own_files.hpp"

#include <algorithm>
#include <set>
#include <string>
#include <system_error>

#include "club/athletes/kept_taps.hpp"
#include "club/opponents/copied_opponent.hpp"
#include "report/pages/page_file.hpp"
#include "settings/countering_keys.hpp"
#include "store/capture_file.hpp"

namespace breakstep {
namespace {

namespace fs = std::filesystem;

enum class Holds { nothing, alone, perhaps };

Holds held(const std::set<std::uint64_t>& shown, std::uint64_t athlete) {
    if (!shown.contains(athlete)) return Holds::nothing;
    return shown.size() == 1 ? Holds::alone : Holds::perhaps;
}

/// A report that an earlier version wrote says nothing of whom it shows. Its name does, but not out of which store.
Holds held_by_name(const fs::path& path, const Athlete& athlete) {
    const std::string name = path.filename().string();
    const std::string own = "athlete-" + pages::safe_name(athlete.call_sign, static_cast<std::uint64_t>(athlete.id));
    if (name.starts_with("group") || name.starts_with("evening-")) return Holds::perhaps;
    if (!name.starts_with(own) || athlete.call_sign.empty()) return Holds::nothing;
    // "athlete-Heron-2.png" is a page of Heron's, "athlete-Heronsby.pdf" is not.
    const char next = name.size() > own.size() ? name[own.size()] : '.';
    return next == '.' || next == '-' ? Holds::perhaps : Holds::nothing;
}

Holds held_by_report(const fs::path& path, const std::vector<std::uint64_t>& shown, const Athlete& athlete) {
    if (shown.empty()) return held_by_name(path, athlete);
    return held({shown.begin(), shown.end()}, static_cast<std::uint64_t>(athlete.id));
}

/// A capture that was cut off tells whose it is all the same: a session's beginning stands first.
/// One that the disk does not give is not passed over: nobody knows whom it shows.
Expected<Holds> held_by_capture(const fs::path& path, const Athlete& athlete) {
    const auto whose = athletes_in_capture(path);
    if (whose) return held(*whose, static_cast<std::uint64_t>(athlete.id));
    if (whose.error().kind != ErrorKind::system) return Holds::nothing;
    Error error = whose.error();
    error.to_do = "it may show who is to be erased: mend the disk, or move the file away, then erase again";
    return tl::make_unexpected(std::move(error));
}

Expected<Holds> held_by(const fs::path& path, const Athlete& athlete) {
    if (const auto partner = copied_from(path))
        return *partner == static_cast<std::uint64_t>(athlete.id) ? Holds::alone : Holds::nothing;
    if (const auto shown = pages::shown_on_pages(path)) return held_by_report(path, *shown, athlete);
    return held_by_capture(path, athlete);
}

struct Folders {
    std::vector<fs::path> there, gone;
};

Expected<Folders> folders_to_look_into(const Store& store) {
    const auto noted = store.folders_made_in();
    if (!noted) return tl::make_unexpected(noted.error());
    Folders folders;
    std::error_code problem;
    const auto take = [&](const fs::path& folder) {
        const bool known = std::any_of(folders.there.begin(), folders.there.end(), [&](const fs::path& other) {
            std::error_code ignored;
            return fs::equivalent(other, folder, ignored);
        });
        if (!known) folders.there.push_back(folder);
    };
    for (const fs::path& folder : *noted)
        if (fs::is_directory(folder, problem))
            take(folder);
        else
            folders.gone.push_back(folder);
    // Those that an earlier version put there without a note.
    // And where opponents stand that were copied from a partner.
    for (const fs::path& folder :
         {store.path().parent_path() / "reports", fs::absolute("reports", problem), opponent_folders().front()})
        if (fs::is_directory(folder, problem)) take(folder);
    return folders;
}

}  // namespace

Expected<OwnFiles> own_files_of(const Store& store, const Athlete& athlete) {
    auto folders = folders_to_look_into(store);
    if (!folders) return tl::make_unexpected(folders.error());
    OwnFiles files;
    files.unseen = std::move(folders->gone);
    for (const fs::path& folder : folders->there) {
        std::error_code problem;
        for (auto entry = fs::directory_iterator(folder, problem); !problem && entry != fs::directory_iterator();
             entry.increment(problem)) {
            std::error_code ignored;
            if (entry->is_symlink(ignored) || !entry->is_regular_file(ignored)) continue;
            const Expected<Holds> holds = held_by(entry->path(), athlete);
            if (!holds) return tl::make_unexpected(holds.error());
            if (*holds == Holds::alone) files.alone.push_back(entry->path());
            if (*holds == Holds::perhaps) files.perhaps.push_back(entry->path());
        }
        if (problem) files.unseen.push_back(folder);
    }
    // Taps beside a video are named by whose they are.
    std::error_code none;
    const fs::path taps = taps_file(store.path(), athlete.id);
    if (fs::is_regular_file(fs::symlink_status(taps, none))) files.alone.push_back(taps);
    for (auto* list : {&files.alone, &files.perhaps}) std::sort(list->begin(), list->end());
    return files;
}

}  // namespace breakstep
