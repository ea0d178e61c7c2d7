#include "club/lists/rung_list.hpp"

#include <fmt/format.h>

#include <array>
#include <cmath>

#include "club/csv/csv.hpp"
#include "club/lists/list_words.hpp"
#include "core/reading/words.hpp"

namespace breakstep {
namespace {

enum Place : std::size_t { evening, on_time };
constexpr std::array columns{CsvColumn{"evening"}, CsvColumn{"on_time"}};

Expected<bool> hit_of(const CsvSheet& sheet, const CsvCell& cell) {
    const std::string text = trimmed(cell.text);
    if (text == "1") return true;
    if (text == "0") return false;
    return tl::make_unexpected(sheet.error_at(
        cell,
        text.empty() ? std::string("the cell is empty") : fmt::format("\"{}\" is neither 0 nor 1", shown_cell(text)),
        "write 1 for a rep on time and 0 for any other"));
}

std::string mark_words(double mark) {
    if (mark == 0.5) return "half";
    const double hundredfold = mark * 100;
    const bool whole = std::abs(hundredfold - std::round(hundredfold)) < 1e-9;
    return reading::decimals(hundredfold, whole ? 0 : 1) + " %";
}

std::string evenings_words(std::uint64_t count) {
    return count == 1 ? "one evening" : reading::count_word(count) + " evenings";
}

std::string sentence(const RungResult& result) {
    const auto& up = result.rung.up();
    const std::string count = fmt::format("{} of {}", up.hits(), up.reps());
    const std::string mark = mark_words(up.mark());
    if (result.rung.passed())
        return fmt::format(
            "Passed: on time {} over {}; the mark is {}. At most 1 in 20 at the mark would get this by luck.", count,
            evenings_words(up.evenings()), mark);
    if (result.rung.step_down_at())
        return fmt::format(
            "This rung is hard for you just now ({}). Take a few evenings on the rung below? What you've passed stays "
            "passed.",
            count);
    return fmt::format("On time {}; the mark is {}. Keep going: more evenings say more than more reps.", count, mark);
}

std::string detail_lines(const RungResult& result) {
    const ladder::Rung& rung = result.rung;
    std::string text = "\n";
    if (rung.passed_at()) text += fmt::format("Passed with rep {}.\n", *rung.passed_at());
    if (rung.step_down_at())
        text += fmt::format("The step down is offered from rep {} on; it never is on the first evening.\n",
                            *rung.step_down_at());
    text += fmt::format("Wealth {} of the 20 that pass; step down, mark {}: {} of 20.\n",
                        wealth_words(rung.up().log_wealth()), mark_words(rung.down().mark()),
                        wealth_words(rung.down().log_wealth()));
    text +=
        "Each rung has its own 1 in 20: over a ladder of nine an athlete at the mark on all of them would get 0.45 "
        "rungs too many.\n";
    return text;
}

}  // namespace

Expected<RungResult> rung_from_list(std::string_view text, const std::string& file, double mark) {
    const auto rung = ladder::Rung::at(mark);
    if (!rung) return tl::make_unexpected(rung.error());
    const auto sheet = parse_csv(text, file, columns);
    if (!sheet) return tl::make_unexpected(sheet.error());
    if (sheet->rows.empty())
        return failure(ErrorKind::bad_input, file + " has a header and nothing below it",
                       "give one row for each counted rep");
    RungResult result{*rung, {}};
    for (const std::vector<CsvCell>& row : sheet->rows) {
        const std::string name = trimmed(row[evening].text);
        if (name.empty())
            return tl::make_unexpected(
                sheet->error_at(row[evening], "the evening is missing", "write its date, or any name, in every row"));
        const auto hit = hit_of(*sheet, row[on_time]);
        if (!hit) return tl::make_unexpected(hit.error());
        if (result.evenings.empty() || result.evenings.back().name != name) {
            result.rung.end_evening();
            result.evenings.push_back({name, 0, 0, 0, 0});
        }
        result.rung.add(*hit);
        RungEvening& now = result.evenings.back();
        now.on_time += *hit ? 1 : 0;
        ++now.reps;
        now.log_wealth = result.rung.up().log_wealth();
        now.log_step_down_wealth = result.rung.down().log_wealth();
    }
    return result;
}

std::string rung_words(const RungResult& result, bool details) {
    constexpr std::size_t width = 24;
    std::string text = padded("evening", width) + "  on time" + (details ? "         wealth   step down" : "") + "\n";
    for (const RungEvening& evening_seen : result.evenings) {
        const std::string count = fmt::format("{} of {}", evening_seen.on_time, evening_seen.reps);
        text += padded(shown_cell(evening_seen.name), width) + "  ";
        if (details)
            text += fmt::format("{:<12}{:>10}  {:>10}\n", count, wealth_words(evening_seen.log_wealth),
                                wealth_words(evening_seen.log_step_down_wealth));
        else
            text += count + "\n";
    }
    text += "\n" + sentence(result) + "\n";
    if (details) text += detail_lines(result);
    return text;
}

}  // namespace breakstep
