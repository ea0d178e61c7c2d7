#include "app/commands/athletes/shared.hpp"

#include <fmt/format.h>

#include <cerrno>
#include <ctime>
#include <iostream>

#include "app/commands/session_setup.hpp"
#include "core/iso_date.hpp"
#include "files/new_file.hpp"
#include "files/reading.hpp"

namespace breakstep {
namespace {

// An export takes the place of an older export, never of a store, a folder or a device.
Expected<void> may_be_written(const std::string& file, bool overwrite) {
    if (!files::is_taken(file)) return {};
    if (!overwrite)
        return failure(ErrorKind::bad_input, file + " is there already", "name a new file, or add --overwrite");
    const auto beginning = files::read_beginning(file, 15);
    if (beginning && *beginning != "SQLite format 3") return {};
    return failure(ErrorKind::bad_input, file + " is not a file that an export may take the place of",
                   "name a new file");
}

}  // namespace

int with_store(const CommonOptions& options, StoreMode mode, const std::function<int(Store&)>& work) {
    const auto settings = load_settings(options.settings);
    if (!settings) return complain(settings.error());
    const auto store = open_store(options, *settings, mode);
    if (!store) {
        return mode == StoreMode::read_only ? complain(store.error()) : complain(store.error(), exit_not_kept);
    }
    const int code = work(**store);
    if (const auto closed = (*store)->close(); !closed) return complain(closed.error(), exit_not_kept);
    return code;
}

int with_whole_store(const CommonOptions& options, const std::function<int(Store&)>& work) {
    const auto settings = load_settings(options.settings);
    if (!settings) return complain(settings.error());
    const auto store = open_whole_store(options, *settings);
    return store ? work(**store) : complain(store.error());
}

Expected<Athlete> athlete_typed(const Store& store, const std::string& typed) {
    const std::string name(typed);
    const auto by_name = store.find_athlete(name);
    if (!by_name) return tl::make_unexpected(by_name.error());
    if (*by_name) return **by_name;
    const auto all = store.athletes();
    if (!all) return tl::make_unexpected(all.error());
    std::string names;
    std::size_t named = 0;
    for (const Athlete& athlete : *all) {
        if (id_text(athlete.id) == name) return athlete;
        if (++named <= 12) names += (names.empty() ? "" : ", ") + shown(athlete);
    }
    if (named > 12) names += fmt::format(" and {} more", named - 12);
    return failure(ErrorKind::not_found, fmt::format("there is no athlete \"{}\" in {}", name, store.path().string()),
                   names.empty() ? "it holds no athletes yet" : "there are: " + names);
}

std::string id_text(AthleteId id) { return fmt::format("{:016x}", static_cast<std::uint64_t>(id)); }

std::string shown(const Athlete& athlete) {
    return athlete.call_sign.empty() ? id_text(athlete.id) : athlete.call_sign;
}

std::string count_of(std::int64_t count, const char* what) {
    return fmt::format("{} {}{}", count, what, count == 1 ? "" : "s");
}

std::string local_date(std::int64_t unix_seconds) {
    const auto moment = static_cast<std::time_t>(unix_seconds);
    std::tm local{};
    localtime_r(&moment, &local);
    return fmt::format("{:04}-{:02}-{:02}", local.tm_year + 1900, local.tm_mon + 1, local.tm_mday);
}

Expected<void> write_out(const std::string& file, bool overwrite,
                         const std::function<Expected<void>(std::ostream&)>& write) {
    if (file.empty() || file == "-") {
        if (Expected<void> written = write(std::cout); !written) return written;
        errno = 0;
        if (std::cout.flush()) return {};
        return tl::make_unexpected(files::system_error("stdout", "written", errno != 0 ? errno : EIO));
    }
    if (Expected<void> may = may_be_written(file, overwrite); !may) return may;
    return files::write_streamed(file, overwrite ? files::Existing::replace : files::Existing::refuse, write);
}

}  // namespace breakstep
