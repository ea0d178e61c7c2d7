#include "app/commands/athletes/shared.hpp"

#include <fcntl.h>
#include <fmt/format.h>
#include <unistd.h>

#include <cerrno>
#include <cstdio>
#include <ctime>
#include <filesystem>
#include <fstream>
#include <iostream>
#include <string_view>
#include <system_error>

#include "app/commands/session_setup.hpp"
#include "core/iso_date.hpp"

namespace breakstep {
namespace {

Error unwritten(const std::string& file) {
    return {errno == ENOSPC ? ErrorKind::no_space : ErrorKind::system,
            fmt::format("{} can't be written: {}", file, std::generic_category().message(errno)),
            "check the folder and the space on the disk"};
}

Expected<void> make_empty(const std::string& file, int how) {
    const int descriptor = ::open(file.c_str(), O_WRONLY | O_CREAT | O_CLOEXEC | how, 0600);
    if (descriptor < 0) return tl::make_unexpected(unwritten(file));
    ::close(descriptor);
    return {};
}

bool is_database(const std::string& file) {
    char beginning[15] = {};
    std::ifstream in(file, std::ios::binary);
    return in.read(beginning, sizeof beginning) && std::string_view(beginning, sizeof beginning) == "SQLite format 3";
}

// An export takes the place of an older export, never of a store, a folder or a device.
Expected<void> may_be_written(const std::string& file, bool overwrite) {
    std::error_code problem;
    const auto status = std::filesystem::status(file, problem);
    if (status.type() == std::filesystem::file_type::not_found) return {};
    if (!overwrite)
        return failure(ErrorKind::bad_input, file + " is there already", "name a new file, or add --overwrite");
    if (status.type() == std::filesystem::file_type::regular && !is_database(file)) return {};
    return failure(ErrorKind::bad_input, file + " is not a file that an export may take the place of",
                   "name a new file");
}

Expected<void> write_whole(const std::string& file, const std::function<Expected<void>(std::ostream&)>& write) {
    std::ofstream out(file, std::ios::binary);
    Expected<void> written = write(out);
    errno = 0;
    out.close();
    if (written && !out) written = tl::make_unexpected(unwritten(file));
    return written;
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
        return std::cout.flush() ? Expected<void>{} : tl::make_unexpected(unwritten("stdout"));
    }
    if (Expected<void> may = may_be_written(file, overwrite); !may) return may;
    // The older file stays until the new one is whole.
    const std::string passing = file + ".writing";
    if (Expected<void> made = make_empty(passing, O_TRUNC); !made) return made;
    Expected<void> written = write_whole(passing, write);
    if (written && ::rename(passing.c_str(), file.c_str()) != 0) written = tl::make_unexpected(unwritten(file));
    if (!written) ::unlink(passing.c_str());
    return written;
}

}  // namespace breakstep
