// Every list that a stranger may hand in: tables of athletes and of their past results, acts of two people, counted
// reps, and the plain lists of `timeable`. Nothing crashes; what is refused says why in words that can be printed; what
// goes out as CSV comes back the same.
#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <sstream>
#include <string>
#include <vector>

#include "cli/timeable/timeable.hpp"
#include "club/athletes/athlete_list.hpp"
#include "club/athletes/past_results.hpp"
#include "club/lists/leads_list.hpp"
#include "club/lists/rung_list.hpp"

namespace {

using namespace breakstep;

void require(bool holds) {
    if (!holds) std::abort();
}

void require_printable(const Error& error) {
    for (const char byte : error.text()) require(static_cast<unsigned char>(byte) >= 0x20 && byte != 0x7F);
}

/// What is taken can be written out and is taken again the same.
void athlete_list(const std::string& text) {
    const auto read = [](const std::string& table) -> Expected<std::vector<Athlete>> {
        const auto sheet = parse_csv(table, "any.csv", athlete_list_columns());
        if (!sheet) return tl::make_unexpected(sheet.error());
        return athletes_from(*sheet, {}, "2026-11-27");
    };
    const auto athletes = read(text);
    if (!athletes) return require_printable(athletes.error());
    std::ostringstream out, again;
    write_athlete_list(out, *athletes, true);
    const auto same = read(out.str());
    require(same.has_value() && same->size() == athletes->size());
    write_athlete_list(again, *same, true);
    require(again.str() == out.str());
}

void timeable_list(const std::string& text, std::vector<std::string> arguments) {
    arguments.emplace_back("-");
    std::istringstream in(text);
    std::ostringstream out, err;
    const int code = run_timeable(arguments, in, out, err);
    require(code == 0 || code == 2);
    require((code == 0) == err.str().empty());
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    if (size == 0) return 0;
    const std::string text(reinterpret_cast<const char*>(data) + 1, size - 1);
    switch (data[0] % 9) {
        case 0: {
            const auto past = past_results_from(text, "any.csv");
            if (!past) return require_printable(past.error()), 0;
            for (const PastResult& result : past->results) {
                require(result.athlete < past->athletes.size() && result.measure < past->measures.size());
                require_printable(past->error_at(result, "is there already", "leave it out"));
            }
            return 0;
        }
        case 1: {
            const auto result = leads_from_list(text, "any.csv");
            if (!result) return require_printable(result.error()), 0;
            require(!leads_words(*result, true).empty());
            return 0;
        }
        case 2: {
            const auto result = rung_from_list(text, "any.csv", 0.5);
            if (!result) return require_printable(result.error()), 0;
            require(!rung_words(*result, true).empty());
            return 0;
        }
        case 3:
            return timeable_list(text, {}), 0;
        case 4:
            return timeable_list(text, {"--json", "--method", "ours"}), 0;
        case 5:
            return timeable_list(text, {"--rows", "intervals"}), 0;
        case 6:
            return timeable_list(text, {"--rows", "choices", "--symbols", "4", "--habit"}), 0;
        case 7:
            athlete_list(text);
            return 0;
        default:
            require(plain_text(harmless_text(text)) == text);
            return 0;
    }
}
