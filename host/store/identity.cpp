#include "store/identity.hpp"

#include <string_view>
#include <system_error>

#include "files/reading.hpp"
#include "store/text_rules.hpp"

namespace breakstep {

namespace fs = std::filesystem;

namespace {

// SQLite's file format, https://www.sqlite.org/fileformat2.html: sections 1.3 (header) and 3 (journal).
constexpr std::string_view database_magic{"SQLite format 3\0", 16};
constexpr std::string_view journal_magic{"\xd9\xd5\x05\xf9\x20\xa1\x63\xd7", 8};

// A journal that says the file had no page before: what it guards is a store's very first transaction.
bool guards_a_first_start(const fs::path& path) {
    const auto header = files::read_beginning(with_ending(path, "-journal"), 28);
    return header && header->size() == 28 && header->starts_with(journal_magic) &&
           header->substr(16, 4) == std::string(4, '\0');
}

}  // namespace

Expected<Looks> looks_of(const fs::path& path) {
    std::error_code problem;
    const auto status = fs::status(path, problem);
    if (status.type() == fs::file_type::not_found) return Looks::absent;
    if (status.type() == fs::file_type::none)  // its folder may not be entered, or the disk fails
        return tl::make_unexpected(files::system_error(path, "read", problem.value()));
    if (status.type() != fs::file_type::regular)
        return failure(
            ErrorKind::bad_input,
            path.string() + (status.type() == fs::file_type::directory ? " is a folder, not a store"
                                                                       : " is not a file that can hold a store"),
            "name a file with --store FILE");
    const auto header = files::read_beginning(path, 100);
    if (!header) return tl::make_unexpected(header.error());
    if (guards_a_first_start(path)) return Looks::first_start_cut;
    if (header->empty()) return Looks::empty;
    if (header->size() < 100 || !header->starts_with(database_magic)) return Looks::no_database;
    const std::string mark = header->substr(68, 4);
    if (mark == "brks") return Looks::store;
    return mark == std::string(4, '\0') ? Looks::unmarked : Looks::other_database;
}

Expected<bool> change_was_cut(const fs::path& path) {
    const fs::path journal = with_ending(path, "-journal");
    std::error_code problem;
    if (!fs::exists(journal, problem)) return false;
    const auto header = files::read_beginning(journal, journal_magic.size());
    if (!header) return tl::make_unexpected(header.error());
    // SQLite empties or zeroes the journal of a change that is whole.
    if (header->empty() || header->front() == '\0') return false;
    if (*header == journal_magic) return true;
    return failure(ErrorKind::bad_input, journal.string() + " bears the name of the store's journal, and is none",
                   "move it to another folder: that name is for what the store keeps while it is changed");
}

bool looks_like_a_store(const fs::path& path) {
    const auto looks = looks_of(path);
    return looks && *looks == Looks::store;
}

std::string uri_of(const fs::path& path) {
    constexpr std::string_view plain = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789_-.~/";
    constexpr std::string_view digits = "0123456789ABCDEF";
    std::string uri = "file:";
    for (const char character : path.string()) {
        const auto byte = static_cast<unsigned char>(character);
        if (plain.find(character) != std::string_view::npos)
            uri += character;
        else
            uri += {'%', digits[byte >> 4U], digits[byte & 15U]};
    }
    return uri;
}

Error no_database_error(const fs::path& path) {
    return {ErrorKind::bad_input, path.string() + " is not a breakstep store, nor any database",
            "name another file with --store FILE; if it was a store once, `breakstep rescue NEW-FILE --store " +
                shell_word(path.string()) + "` saves what is whole"};
}

Error other_database_error(const fs::path& path) {
    return {ErrorKind::bad_input, path.string() + " is a database of another program, not a breakstep store",
            "name another file with --store FILE; this one was left as it is"};
}

void remove_side_files(const fs::path& path) {
    std::error_code ignored;
    for (const char* ending : side_files) fs::remove(with_ending(path, ending), ignored);
    fs::remove(with_ending(path, ".lock"), ignored);
}

Expected<void> no_log_left(const fs::path& path) {
    std::error_code problem;
    const fs::path log = with_ending(path, "-wal");
    if (!fs::exists(log, problem) || fs::file_size(log, problem) == 0) return {};
    return failure(ErrorKind::no_space, "not all of " + path.string() + " could be written",
                   "make room on that disk, then try again");
}

}  // namespace breakstep
