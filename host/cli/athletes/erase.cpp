// athletes erase.
#include "club/athletes/erase.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <iostream>

#include "cli/athletes/shared.hpp"
#include "club/athletes/athletes_json.hpp"
#include "club/athletes/naming.hpp"
#include "store/text_rules.hpp"

namespace breakstep {
namespace {

void print_copies(const Erasing& erasing, const std::string& id) {
    for (const auto& path : erasing.also_erased_from)
        std::cout << fmt::format("erased from {} too, which is a copy of this store\n", path.string());
    for (const CopyHolding& copy : erasing.copies.holding)
        std::cout << fmt::format(
            "still held by {} ({}): delete that file, or erase there too:\n"
            "    breakstep athletes erase {} --yes --store {}\n",
            copy.path.string(), count_of(copy.sessions, "session"), id, shell_word(copy.path.string()));
    for (const auto& path : erasing.copies.unseen)
        std::cout << fmt::format(
            "{} is a copy of the store that can't be looked into now: it may still hold the "
            "athlete\n",
            path.string());
    std::cout << "Copies made in other ways (exports, printed pages, copied or moved files) are not known here.\n";
}

void print_files(const Erasing& erasing) {
    for (const auto& path : erasing.files.alone) std::cout << fmt::format("deleted {}\n", path.string());
    for (const auto& path : erasing.files.perhaps)
        std::cout << fmt::format("{} shows the athlete among others, or may do so: write it anew, or delete it\n",
                                 path.string());
    for (const auto& path : erasing.files.unseen)
        std::cout << fmt::format(
            "reports or captures were put into {}, which can't be looked into now: they may still show the athlete\n",
            path.string());
}

// ", and delete a.pdf, b.pdf and 3 more files".
std::string and_files(const std::vector<std::filesystem::path>& paths) {
    constexpr std::size_t named_max = 6;
    std::string text;
    for (std::size_t i = 0; i < std::min(named_max, paths.size()); ++i)
        text += (i == 0 ? ", and delete " : ", ") + paths[i].string();
    return paths.size() > named_max ? text + fmt::format(" and {} more files", paths.size() - named_max) : text;
}

}  // namespace

int erase_athlete(const KeepingOptions& options) {
    const StoreMode mode = options.yes ? StoreMode::own_thread : StoreMode::read_only;
    return with_store_there(options.common, mode, [&](Store& store) {
        const auto athlete = athlete_typed(store, options.call_sign);
        if (!athlete) return complain(athlete.error());
        auto erasing = what_erasing_takes(store, *athlete);
        if (!erasing) return complain(erasing.error());
        const std::string held = shown(*athlete) + " with " + count_of(erasing->sessions, "session") + ", " +
                                 count_of(erasing->reps, "rep") + " and " +
                                 count_of(erasing->measures, "imported value");
        if (!options.yes)
            return complain({ErrorKind::bad_input,
                             "this would erase " + held + " for good" + and_files(erasing->files.alone),
                             "add --yes if that is meant; nothing was erased"});
        if (const auto erased = erase(store, *erasing); !erased) return complain(erased.error(), exit_not_kept);
        if (options.common.json) {
            std::cout << erase_json(*erasing);
        } else {
            std::cout << "erased: " << held << '\n';
            print_files(*erasing);
            print_copies(*erasing, id_text(athlete->id));
        }
        return static_cast<int>(exit_done);
    });
}

}  // namespace breakstep
