// athletes import-list, import.
#include "club/athletes/bring_in.hpp"

#include <fmt/format.h>

#include <iostream>
#include <utility>

#include "cli/athletes/shared.hpp"
#include "club/athletes/athlete_list.hpp"
#include "club/athletes/athletes_json.hpp"
#include "club/athletes/naming.hpp"
#include "club/consent/consent_words.hpp"

namespace breakstep {
namespace {

// What messages call the file.
std::string name_of(const std::string& file) { return file == "-" ? "stdin" : file; }

void print_import(const Imported& imported) {
    std::cout << fmt::format("imported {} of {}", count_of(static_cast<std::int64_t>(imported.values), "value"),
                             count_of(static_cast<std::int64_t>(imported.measures.size()), "measure"));
    const char* between = "; athletes added: ";
    for (const std::string& name : imported.athletes_added) std::cout << std::exchange(between, ", ") << name;
    std::cout << '\n';
}

}  // namespace

int import_athletes(const KeepingOptions& options) {
    const auto list = read_file(options.file).and_then([&](std::string&& text) {
        return parse_csv(text, name_of(options.file), athlete_list_columns());
    });
    if (!list) return complain(list.error());
    // Judged before a store is opened, or even made.
    if (const auto good = athletes_from(*list, {}, today_here()); !good) return complain(good.error());
    return with_store(options.common, StoreMode::inline_writes, [&](Store& store) {
        const auto added = add_listed(store, *list);
        if (!added) return complain(added.error());
        if (options.common.json)
            std::cout << athletes_json(*added, local_date(unix_now()));
        else
            std::cout << fmt::format("{} added\n", count_of(static_cast<std::int64_t>(added->size()), "athlete"));
        return static_cast<int>(exit_done);
    });
}

int import_measures(const KeepingOptions& options) {
    const auto results = read_file(options.file).and_then([&](std::string&& text) {
        return past_results_from(text, name_of(options.file));
    });
    if (!results) return complain(results.error());
    return with_store(options.common, StoreMode::inline_writes, [&](Store& store) {
        const auto imported = add_results(store, *results);
        if (!imported) return complain(imported.error());
        if (options.common.json)
            std::cout << import_json(*imported);
        else
            print_import(*imported);
        return static_cast<int>(exit_done);
    });
}

}  // namespace breakstep
