#include "app/commands/athletes/past_results.hpp"

#include <fmt/format.h>

#include <charconv>
#include <cmath>
#include <map>
#include <optional>
#include <tuple>

#include "core/iso_date.hpp"
#include "store/usable.hpp"

namespace breakstep {
namespace {

enum Place : std::size_t { athlete, date, measure, value };

// A number as programs write it: a point, no grouping, whatever the locale.
std::optional<double> number_from(const std::string& text) {
    double number = 0;
    const char* begin = text.data() + (text.starts_with('+') ? 1 : 0);
    const auto [end, error] = std::from_chars(begin, text.data() + text.size(), number);
    if (error != std::errc() || end != text.data() + text.size() || !std::isfinite(number)) return std::nullopt;
    if (text.starts_with("+-")) return std::nullopt;
    return number;
}

std::string number_advice(const std::string& text) {
    std::string pointed = text;
    const std::size_t comma = pointed.find(',');
    if (comma != std::string::npos && pointed.find(',', comma + 1) == std::string::npos) {
        pointed[comma] = '.';
        if (number_from(pointed)) return "write decimals with a point: " + pointed;
    }
    return "write a number with a point for decimals and nothing else, such as 312.5";
}

}  // namespace

const std::vector<CsvColumn>& past_result_columns() {
    static const std::vector<CsvColumn> columns{{"athlete"}, {"date"}, {"measure"}, {"value"}};
    return columns;
}

Expected<std::vector<PastResult>> past_results_from(const CsvSheet& sheet) {
    std::vector<PastResult> results;
    std::map<std::tuple<std::string, std::string, std::string>, std::size_t> lines;
    for (const std::vector<CsvCell>& row : sheet.rows) {
        const auto wrong = [&](Place place, const std::string& what, const std::string& to_do) {
            return tl::make_unexpected(sheet.error_at(row[place], what, to_do + "; nothing was imported"));
        };
        PastResult result{plain_text(trimmed(row[athlete].text)), plain_text(trimmed(row[measure].text)),
                          trimmed(row[date].text), 0, row[measure]};
        Athlete shape;
        shape.id = AthleteId{1};
        shape.call_sign = result.athlete;
        if (result.athlete.empty()) return wrong(athlete, "the athlete's call-sign is missing", "write it");
        if (const auto good = usable(shape); !good) return wrong(athlete, good.error().what, good.error().to_do);
        if (!date_from(result.date))
            return wrong(date, fmt::format("\"{}\" is no date of the calendar", result.date),
                         "write dates as year-month-day: 2024-09-30");
        const std::string number = trimmed(row[value].text);
        const auto read = number_from(number);
        if (!read) return wrong(value, fmt::format("\"{}\" is not a number", number), number_advice(number));
        result.value = *read;
        if (const auto good = usable(Measure{AthleteId{1}, result.measure, result.date, result.value}); !good)
            return wrong(measure, good.error().what, good.error().to_do);
        const auto [at, fresh] =
            lines.emplace(std::tuple(folded(result.athlete), result.date, result.measure), row[measure].line);
        if (!fresh)
            return wrong(measure,
                         fmt::format("line {} has a value of {} for {} on {} already", at->second, result.measure,
                                     result.athlete, result.date),
                         "leave one of them");
        results.push_back(std::move(result));
    }
    return results;
}

}  // namespace breakstep
