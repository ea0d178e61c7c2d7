// athletes import-list, import: everything in a file is judged before the store is opened, and goes in whole or not at
// all.
#include <fmt/format.h>

#include <iostream>
#include <map>
#include <set>
#include <tuple>

#include "app/commands/athletes/athlete_list.hpp"
#include "app/commands/athletes/athletes_json.hpp"
#include "app/commands/athletes/past_results.hpp"
#include "app/commands/athletes/shared.hpp"
#include "app/commands/session_setup.hpp"

namespace breakstep {
namespace {

Expected<CsvSheet> sheet_in(const std::string& file, const std::vector<CsvColumn>& columns) {
    const auto text = read_file(file);
    if (!text) return tl::make_unexpected(text.error());
    return parse_csv(*text, file == "-" ? "stdin" : file, columns);
}

// What an import would add to the store.
struct Additions {
    std::vector<Athlete> athletes;
    std::vector<Measure> measures;
    ImportReport report;
};

Expected<Additions> additions_for(const Store& store, const CsvSheet& sheet, const std::vector<PastResult>& results) {
    const auto known = store.athletes();
    if (!known) return tl::make_unexpected(known.error());
    const auto kept = store.measures();
    if (!kept) return tl::make_unexpected(kept.error());
    std::map<std::string, AthleteId> ids;
    for (const Athlete& athlete : *known) ids.emplace(folded(athlete.call_sign), athlete.id);
    std::set<std::tuple<AthleteId, std::string, std::string>> taken;
    for (const Measure& measure : *kept) taken.emplace(measure.athlete, measure.date, measure.measure);
    Additions additions;
    IdSource new_ids(std::nullopt);
    std::set<std::string> names;
    for (const PastResult& result : results) {
        const auto [at, fresh] = ids.try_emplace(folded(result.athlete));
        if (fresh) {
            Athlete& athlete = additions.athletes.emplace_back();
            athlete.id = at->second = AthleteId{new_ids.next()};
            athlete.call_sign = result.athlete;
            athlete.added_unix_seconds = unix_now();
            additions.report.athletes_added.push_back(result.athlete);
        }
        if (taken.contains({at->second, result.date, result.measure}))
            return tl::make_unexpected(
                sheet.error_at(result.from,
                               fmt::format("the store has a value of {} for {} on {} already", result.measure,
                                           result.athlete, result.date),
                               "take out the rows that were imported before; nothing was imported"));
        additions.measures.push_back({at->second, result.measure, result.date, result.value});
        names.insert(result.measure);
    }
    additions.report.values = results.size();
    additions.report.measures.assign(names.begin(), names.end());
    return additions;
}

void print_import(const ImportReport& report) {
    std::cout << fmt::format("imported {} of {}", count_of(static_cast<std::int64_t>(report.values), "value"),
                             count_of(static_cast<std::int64_t>(report.measures.size()), "measure"));
    const char* between = "; athletes added: ";
    for (const std::string& name : report.athletes_added) std::cout << std::exchange(between, ", ") << name;
    std::cout << '\n';
}

}  // namespace

int import_athletes(const KeepingOptions& options) {
    const auto sheet = sheet_in(options.file, athlete_list_columns());
    if (!sheet) return complain(sheet.error());
    if (const auto good = athletes_from(*sheet, {}); !good) return complain(good.error());
    return with_store(options.common, StoreMode::inline_writes, [&](Store& store) {
        const auto known = store.athletes();
        if (!known) return complain(known.error());
        auto athletes = athletes_from(*sheet, *known);
        if (!athletes) return complain(athletes.error());
        IdSource ids(std::nullopt);
        for (Athlete& athlete : *athletes) {
            athlete.id = AthleteId{ids.next()};
            athlete.added_unix_seconds = unix_now();
        }
        if (const auto added = store.add_all(*athletes, {}); !added) return complain(added.error());
        if (options.common.json)
            std::cout << athletes_json(*athletes, local_date(unix_now()));
        else
            std::cout << fmt::format("{} added\n", count_of(static_cast<std::int64_t>(athletes->size()), "athlete"));
        return static_cast<int>(exit_done);
    });
}

int import_measures(const KeepingOptions& options) {
    const auto sheet = sheet_in(options.file, past_result_columns());
    if (!sheet) return complain(sheet.error());
    const auto results = past_results_from(*sheet);
    if (!results) return complain(results.error());
    return with_store(options.common, StoreMode::inline_writes, [&](Store& store) {
        const auto additions = additions_for(store, *sheet, *results);
        if (!additions) return complain(additions.error());
        if (const auto added = store.add_all(additions->athletes, additions->measures); !added)
            return complain(added.error());
        if (options.common.json)
            std::cout << import_json(additions->report);
        else
            print_import(additions->report);
        return static_cast<int>(exit_done);
    });
}

}  // namespace breakstep
