#include "files/place.hpp"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <cstdio>
#include <system_error>

namespace breakstep::files {

namespace fs = std::filesystem;

namespace {

fs::path folder_of(const fs::path& path) { return path.has_parent_path() ? path.parent_path() : fs::path("."); }

Error taken(const fs::path& path) {
    return {ErrorKind::bad_input, path.string() + " is there already", "name a new file: nothing is overwritten"};
}

// For disks that can't rename without replacing: a second name refuses a taken one, and so does making an empty file.
Expected<void> put_where_none_is(const fs::path& passing, const fs::path& path) {
    if (::link(passing.c_str(), path.c_str()) == 0) return remove_file(passing);
    if (errno == EEXIST) return tl::make_unexpected(taken(path));
    const int claimed = ::open(path.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC | O_NOFOLLOW, 0600);
    if (claimed < 0) return tl::make_unexpected(errno == EEXIST ? taken(path) : system_error(path, "made", errno));
    ::close(claimed);
    if (::rename(passing.c_str(), path.c_str()) == 0) return {};
    const Error error = system_error(path, "made", errno);
    ::unlink(path.c_str());
    return tl::make_unexpected(error);
}

Expected<void> rename_to(const fs::path& passing, const fs::path& path, Existing existing) {
    if (existing == Existing::replace) {
        if (::rename(passing.c_str(), path.c_str()) == 0) return {};
        return tl::make_unexpected(system_error(path, "written", errno));
    }
    if (::renameat2(AT_FDCWD, passing.c_str(), AT_FDCWD, path.c_str(), RENAME_NOREPLACE) == 0) return {};
    if (errno == EEXIST) return tl::make_unexpected(taken(path));
    if (errno == EINVAL || errno == ENOSYS) return put_where_none_is(passing, path);
    return tl::make_unexpected(system_error(path, "made", errno));
}

}  // namespace

Error system_error(const fs::path& path, std::string_view doing, int reason) {
    const std::string what =
        path.string() + " can't be " + std::string(doing) + ": " + std::generic_category().message(reason);
    switch (reason) {
        case ENOSPC:
        case EDQUOT:
        case EFBIG:
            return {ErrorKind::no_space, what, "make room on that disk, then try again"};
        case EEXIST:
            return taken(path);
        case ENOENT:
            return {ErrorKind::not_found, what, "check the name, and that its folder is there"};
        case ENOTDIR:
        case EISDIR:
        case ENAMETOOLONG:
        case ELOOP:
            return {ErrorKind::bad_input, what, "name another file"};
        case EACCES:
        case EPERM:
        case EROFS:
            return {ErrorKind::system, what,
                    doing == "read" ? "give yourself the right to read it"
                                    : "name a place that you may write to, or give yourself the right to"};
        default:
            return {ErrorKind::system, what, "check that the disk or stick is still there, then try again"};
    }
}

fs::path passing_name(const fs::path& path) { return folder_of(path) / (".part-" + path.filename().string()); }

Expected<void> sync(const fs::path& path) {
    const int descriptor = ::open(path.c_str(), O_RDONLY | O_CLOEXEC);
    const bool good = descriptor >= 0 && ::fsync(descriptor) == 0;
    const int reason = errno;
    if (descriptor >= 0) ::close(descriptor);
    // Some network disks know no syncing of folders: they write in order by themselves.
    if (good || (descriptor >= 0 && reason == EINVAL)) return {};
    Error error = system_error(path, "brought to the disk", reason);
    return tl::make_unexpected(std::move(error));
}

Expected<void> put_in_place(const fs::path& passing, const fs::path& path, Existing existing) {
    return rename_to(passing, path, existing).and_then([&] { return sync(folder_of(path)); });
}

Expected<void> make_folder(const fs::path& folder) {
    std::error_code problem;
    if (folder.empty() || fs::is_directory(folder, problem)) return {};
    if (Expected<void> above = make_folder(folder.parent_path()); !above) return above;
    if (::mkdir(folder.c_str(), 0700) == 0) return sync(folder_of(folder));
    const int reason = errno;
    if (fs::is_directory(folder, problem)) return {};
    if (reason == EEXIST)
        return failure(ErrorKind::bad_input, folder.string() + " is there and is no folder", "name another folder");
    Error error = system_error(folder, "made", reason);
    error.what = "the folder " + error.what;
    return tl::make_unexpected(std::move(error));
}

Expected<void> remove_file(const fs::path& path) {
    if (::unlink(path.c_str()) == 0 || errno == ENOENT) return {};
    return tl::make_unexpected(system_error(path, "removed", errno));
}

bool is_taken(const fs::path& path) {
    struct stat facts {};
    return ::lstat(path.c_str(), &facts) == 0;
}

}  // namespace breakstep::files
