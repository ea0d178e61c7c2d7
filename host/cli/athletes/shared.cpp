#include "cli/athletes/shared.hpp"

#include <fmt/format.h>

#include <cerrno>
#include <ctime>
#include <filesystem>
#include <iostream>

#include "cli/session_setup.hpp"
#include "club/consent/consent_words.hpp"
#include "club/sharing/server_url.hpp"
#include "core/error.hpp"
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

constexpr std::size_t named_max = 12;

}  // namespace

int with_store(const CommonOptions& options, StoreMode mode, const std::function<int(Store&)>& work) {
    const auto settings = load_settings(options.settings);
    if (!settings) return complain(settings.error());
    const auto store = open_store(options, *settings, mode);
    if (!store) {
        return mode == StoreMode::read_only ? complain(store.error()) : complain_of_store(store.error());
    }
    const int code = work(**store);
    if (const auto closed = (*store)->close(); !closed) return complain(closed.error(), exit_not_kept);
    return code;
}

int with_store_there(const CommonOptions& options, StoreMode mode, const std::function<int(Store&)>& work) {
    const auto settings = load_settings(options.settings);
    if (!settings) return complain(settings.error());
    const std::filesystem::path path = store_path(options, *settings);
    std::error_code ignored;
    if (!sharing::is_server_url(path.string()) && !std::filesystem::exists(path, ignored))
        return complain({ErrorKind::not_found, "there is no store " + path.string(), "check the name after --store"});
    return with_store(options, mode, work);
}

int with_whole_store(const CommonOptions& options, const std::function<int(Store&)>& work) {
    const auto settings = load_settings(options.settings);
    if (!settings) return complain(settings.error());
    const auto store = open_whole_store(options, *settings);
    return store ? work(**store) : complain(store.error());
}

int with_kept(const CommonOptions& options, const std::function<int(const Kept&)>& work) {
    const auto settings = load_settings(options.settings);
    if (!settings) return complain(settings.error());
    const auto kept = open_kept(options, *settings);
    return kept ? work(**kept) : complain(kept.error());
}

void tell_left_out(const std::vector<Athlete>& left_out, const std::string& today) {
    for (std::size_t i = 0; i < left_out.size() && i < named_max; ++i)
        std::cerr << shown_text(fmt::format("left out: {}; {}", why_not_kept(left_out[i], today),
                                            how_to_renew(left_out[i], today)))
                  << '\n';
    if (left_out.size() > named_max)
        std::cerr << fmt::format("left out for want of consent: {} more (`breakstep athletes list`)\n",
                                 left_out.size() - named_max);
    if (!left_out.empty())
        std::cerr
            << "Whatever was kept before, with consent, is still in the store: `breakstep athletes erase` takes it "
               "out.\n";
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
