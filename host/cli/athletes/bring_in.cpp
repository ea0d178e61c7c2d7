// athletes import-list, import: everything in a file is judged before the store is opened, and goes in whole or not at
// all.
#include <fmt/format.h>

#include <algorithm>
#include <iostream>
#include <unordered_map>

#include "cli/athletes/shared.hpp"
#include "cli/session_setup.hpp"
#include "club/athletes/athlete_list.hpp"
#include "club/athletes/athletes_json.hpp"
#include "club/athletes/naming.hpp"
#include "club/athletes/past_results.hpp"
#include "club/consent/consent_words.hpp"
#include "store/call_sign.hpp"

namespace breakstep {
namespace {

Expected<CsvSheet> sheet_in(const std::string& file, const std::vector<CsvColumn>& columns) {
    const auto text = read_file(file);
    if (!text) return tl::make_unexpected(text.error());
    return parse_csv(*text, file == "-" ? "stdin" : file, columns);
}

// The athletes of the file by their ids in the store; those it does not know are new ones.
struct Participants {
    std::vector<AthleteId> ids;  ///< by their places in the file's list of names
    std::vector<Athlete> fresh;
};
Expected<Participants> participants_in(const Store& store, const PastResults& results) {
    const auto known = store.athletes();
    if (!known) return tl::make_unexpected(known.error());
    std::unordered_map<std::string, const Athlete*> by_name;
    for (const Athlete& athlete : *known) by_name.emplace(call_sign_key(athlete.call_sign), &athlete);
    const std::string today = today_here();
    Participants participants;
    IdSource new_ids(std::nullopt);
    for (const std::string& name : results.athletes) {
        const auto found = by_name.find(call_sign_key(name));
        if (found != by_name.end()) {
            const Athlete& there = *found->second;
            if (!may_keep(there, today))
                return failure(ErrorKind::bad_input, why_not_kept(there, today),
                               how_to_renew(there, today) + ", or take the rows out; nothing was imported");
            participants.ids.push_back(there.id);
            continue;
        }
        Athlete& athlete = participants.fresh.emplace_back();
        athlete.id = AthleteId{new_ids.next()};
        athlete.call_sign = name;
        athlete.added_unix_seconds = unix_now();
        participants.ids.push_back(athlete.id);
    }
    return participants;
}

Expected<ImportReport> add_results(Store& store, const PastResults& results) {
    const auto participants = participants_in(store, results);
    if (!participants) return tl::make_unexpected(participants.error());
    std::size_t at = 0;
    Measure measure;
    const auto added = store.add_all(
        participants->fresh,
        [&]() -> const Measure* {
            if (at == results.results.size()) return nullptr;
            const PastResult& result = results.results[at++];
            measure = {participants->ids[result.athlete], results.measures[result.measure], results.date_of(result),
                       result.value};
            return &measure;
        },
        [&](const Measure& taken) {
            const PastResult& result = results.results[at - 1];
            return results.error_at(result,
                                    fmt::format("the store has a value of {} for {} on {} already", taken.measure,
                                                results.athletes[result.athlete], taken.date),
                                    "take out the rows that were imported before; nothing was imported");
        });
    if (!added) return tl::make_unexpected(added.error());
    ImportReport report;
    report.values = results.results.size();
    report.measures = results.measures;
    std::sort(report.measures.begin(), report.measures.end());
    for (const Athlete& athlete : participants->fresh) report.athletes_added.push_back(athlete.call_sign);
    return report;
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
    Expected<PastResults> results = read_file(options.file).and_then([&](std::string&& text) {
        return past_results_from(text, options.file == "-" ? "stdin" : options.file);
    });
    if (!results) return complain(results.error());
    return with_store(options.common, StoreMode::inline_writes, [&](Store& store) {
        const auto report = add_results(store, *results);
        if (!report) return complain(report.error());
        if (options.common.json)
            std::cout << import_json(*report);
        else
            print_import(*report);
        return static_cast<int>(exit_done);
    });
}

}  // namespace breakstep
