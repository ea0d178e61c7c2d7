#include "club/athletes/past_results.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <numeric>
#include <optional>
#include <tuple>
#include <unordered_map>

#include "core/iso_date.hpp"
#include "store/call_sign.hpp"
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

constexpr CsvColumn result_columns[] = {{"athlete"}, {"date"}, {"measure"}, {"value"}};

/// Names, each once, and their places.
class Names {
  public:
    /// The place of a name that is known by `key`; -1 for none.
    [[nodiscard]] std::int64_t find(const std::string& key) const {
        const auto found = places_.find(key);
        return found == places_.end() ? -1 : static_cast<std::int64_t>(found->second);
    }
    std::uint32_t add(std::string key, std::string name, std::vector<std::string>& names) {
        const auto place = static_cast<std::uint32_t>(names.size());
        places_.emplace(std::move(key), place);
        names.push_back(std::move(name));
        return place;
    }

  private:
    std::unordered_map<std::string, std::uint32_t> places_;
};

/// Takes row after row into the results.
class ResultReader {
  public:
    explicit ResultReader(PastResults& results) : results_(results) {}

    Expected<void> take(const CsvSheet& sheet, const CsvRow& row) {
        if (results_.sheet.header.empty()) {
            results_.sheet = sheet;
            results_.measure_column = row[measure].column;
        }
        PastResult result;
        result.line = static_cast<std::uint32_t>(row[measure].line);
        return take_athlete(sheet, row, result)
            .and_then([&] { return take_date(sheet, row, result); })
            .and_then([&] { return take_value(sheet, row, result); })
            .and_then([&] { return take_measure(sheet, row, result); })
            .map([&] { results_.results.push_back(result); });
    }

  private:
    static Expected<void> wrong(const CsvSheet& sheet, const CsvCell& cell, const std::string& what,
                                const std::string& to_do) {
        return tl::make_unexpected(sheet.error_at(cell, what, to_do + "; nothing was imported"));
    }

    Expected<void> take_athlete(const CsvSheet& sheet, const CsvRow& row, PastResult& result) {
        std::string name = plain_text(trimmed(row[athlete].text));
        if (name == last_athlete_) {
            result.athlete = last_athlete_place_;
            return {};
        }
        if (name.empty()) return wrong(sheet, row[athlete], "the athlete's call-sign is missing", "write it");
        std::string key = call_sign_key(name);
        std::int64_t place = athletes_.find(key);
        if (place < 0) {
            Athlete shape;
            shape.id = AthleteId{1};
            shape.call_sign = name;
            if (const auto good = usable(shape); !good)
                return wrong(sheet, row[athlete], good.error().what, good.error().to_do);
            place = athletes_.add(std::move(key), name, results_.athletes);
        }
        last_athlete_ = std::move(name);
        result.athlete = last_athlete_place_ = static_cast<std::uint32_t>(place);
        return {};
    }
    static Expected<void> take_date(const CsvSheet& sheet, const CsvRow& row, PastResult& result) {
        const std::string text = trimmed(row[date].text);
        const auto day = date_from(text);
        if (!day)
            return wrong(sheet, row[date], fmt::format("\"{}\" is no date of the calendar", text),
                         "write dates as year-month-day: 2024-09-30");
        result.day = static_cast<std::int32_t>(day->time_since_epoch().count());
        return {};
    }
    static Expected<void> take_value(const CsvSheet& sheet, const CsvRow& row, PastResult& result) {
        const std::string number = trimmed(row[value].text);
        const auto read = number_from(number);
        if (!read)
            return wrong(sheet, row[value], fmt::format("\"{}\" is not a number", number), number_advice(number));
        result.value = *read;
        return {};
    }
    Expected<void> take_measure(const CsvSheet& sheet, const CsvRow& row, PastResult& result) {
        std::string name = plain_text(trimmed(row[measure].text));
        std::int64_t place = measures_.find(name);
        if (place < 0) {
            if (const auto good = usable(Measure{AthleteId{1}, name, "2000-01-01", 0}); !good)
                return wrong(sheet, row[measure], good.error().what, good.error().to_do);
            place = measures_.add(name, name, results_.measures);
        }
        result.measure = static_cast<std::uint32_t>(place);
        return {};
    }

    PastResults& results_;
    Names athletes_, measures_;
    std::string last_athlete_;
    std::uint32_t last_athlete_place_ = 0;
};

// Of all values that stand there twice, the first that repeats an earlier one.
Expected<void> each_once(const PastResults& all) {
    std::vector<std::uint32_t> order(all.results.size());
    std::iota(order.begin(), order.end(), 0U);
    const auto key = [&](std::uint32_t at) {
        const PastResult& result = all.results[at];
        return std::tuple(result.athlete, result.measure, result.day);
    };
    std::sort(order.begin(), order.end(),
              [&](std::uint32_t a, std::uint32_t b) { return key(a) != key(b) ? key(a) < key(b) : a < b; });
    std::uint32_t first = UINT32_MAX, before = 0;
    for (std::size_t i = 1; i < order.size(); ++i)
        if (key(order[i - 1]) == key(order[i]) && order[i] < first) {
            first = order[i];
            before = order[i - 1];
        }
    if (first == UINT32_MAX) return {};
    const PastResult& result = all.results[first];
    return tl::make_unexpected(
        all.error_at(result,
                     fmt::format("line {} has a value of {} for {} on {} already", all.results[before].line,
                                 all.measures[result.measure], all.athletes[result.athlete], all.date_of(result)),
                     "leave one of them; nothing was imported"));
}

}  // namespace

std::string PastResults::date_of(const PastResult& result) const {
    return date_text(std::chrono::sys_days(std::chrono::days(result.day)));
}

Error PastResults::error_at(const PastResult& result, const std::string& what, const std::string& to_do) const {
    return sheet.error_at({"", result.line, measure_column}, what, to_do);
}

Expected<PastResults> past_results_from(std::string_view text, const std::string& file) {
    PastResults results;
    ResultReader reader(results);
    const auto read = read_csv(text, file, result_columns,
                               [&](const CsvSheet& sheet, CsvRow& row) { return reader.take(sheet, row); });
    if (!read) return tl::make_unexpected(read.error());
    if (const auto once = each_once(results); !once) return tl::make_unexpected(once.error());
    return results;
}

}  // namespace breakstep
