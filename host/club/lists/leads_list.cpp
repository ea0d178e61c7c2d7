#include "club/lists/leads_list.hpp"

#include <fmt/format.h>

#include <charconv>
#include <cmath>
#include <optional>

#include "club/csv/csv.hpp"
#include "club/lists/list_words.hpp"
#include "core/reading/seconds.hpp"
#include "core/reading/tempo_test.hpp"
#include "core/reading/words.hpp"

namespace breakstep {
namespace {

using leading::FollowTest;
using leading::Lead;
using leading::Who;

enum Place : std::size_t { time_s, who };
constexpr std::array columns{CsvColumn{"time_s"}, CsvColumn{"who"}};
constexpr double farthest_seconds = 4e9;  // so that any two times lie apart by what fits into nanoseconds

struct Act {
    Who who;
    Duration at;
};

Expected<Act> act_of(const CsvSheet& sheet, const std::vector<CsvCell>& row) {
    const std::string name = folded(trimmed(row[who].text));
    if (name != "a" && name != "b")
        return tl::make_unexpected(sheet.error_at(row[who],
                                                  name.empty()
                                                      ? std::string("the cell is empty")
                                                      : fmt::format("\"{}\" is neither a nor b", shown_cell(name)),
                                                  "call the two people a and b"));
    const std::string text = trimmed(row[time_s].text);
    const auto wrong = [&](const char* what, const char* to_do) {
        return tl::make_unexpected(
            sheet.error_at(row[time_s], fmt::format("\"{}\" {}", shown_cell(text), what), to_do));
    };
    double seconds = 0;
    const char* begin = text.data() + (text.starts_with('+') ? 1 : 0);
    const auto [end, error] = std::from_chars(begin, text.data() + text.size(), seconds);
    if (error != std::errc{} || end != text.data() + text.size() || text.starts_with("+-") || std::isnan(seconds))
        return wrong("is not a number", "give times in seconds, with a point: 12.35");
    if (!(std::abs(seconds) <= farthest_seconds)) return wrong("is out of range", "give times in seconds");
    return Act{name == "a" ? Who::a : Who::b, reading::duration_from(seconds)};
}

/// Times in order, and nobody twice at one moment.
Expected<void> in_order(const CsvSheet& sheet, const CsvCell& cell, const Act& act, const std::optional<Duration>& last,
                        const std::optional<Duration>& last_of_same) {
    if (last && act.at < *last)
        return tl::make_unexpected(sheet.error_at(
            cell, fmt::format("the time {} comes before the one above it", shown_cell(trimmed(cell.text))),
            "sort the list by time, or correct it"));
    if (last_of_same == act.at)
        return tl::make_unexpected(
            sheet.error_at(cell, fmt::format("the time {} stands twice for one person", shown_cell(trimmed(cell.text))),
                           "leave one of them"));
    return {};
}

struct Direction {
    const FollowTest* test;
    const char *led, *leader;
    bool keeps_a_beat;
};

std::string evidence(const Direction& direction) {
    const auto& count = direction.test->count();
    std::string text;
    if (const auto lag = direction.test->lag())
        text = fmt::format(" {} steps in about {} s after {} acts: {} of {}.", direction.led,
                           reading::decimals(*lag, 2), direction.leader, count.hits, count.of);
    text += fmt::format(" {}'s own rhythm alone would give {}.", direction.led, reading::decimals(count.chance, 0));
    if (direction.keeps_a_beat) text += fmt::format(" {} also keeps a beat of their own.", direction.led);
    return text;
}

std::string can_make_go(const Direction& direction) {
    return fmt::format("{} can make {} go.", direction.leader, direction.led) + evidence(direction);
}

std::string sentence(const LeadsResult& result, const Direction& a_led, const Direction& b_led) {
    switch (result.bout.lead()) {
        case Lead::too_few:
            return fmt::format("Too few acts to say: {}, and it takes {}.", result.bout.acts(), leading::acts_at_least);
        case Lead::no_sign:
            return fmt::format("No sign that either leads, in {} acts.", result.bout.acts());
        case Lead::maybe_b_leads:
            return "Maybe: " + can_make_go(a_led);
        case Lead::maybe_a_leads:
            return "Maybe: " + can_make_go(b_led);
        case Lead::maybe_together:
            return "Maybe: you move together; who leads can't be told here.";
        case Lead::b_leads:
            return can_make_go(a_led);
        case Lead::a_leads:
            return can_make_go(b_led);
        case Lead::together:
            return "You move together; who leads can't be told here.";
    }
    return "";
}

std::string detail_line(const Direction& direction) {
    const FollowTest& test = *direction.test;
    const auto at = [](std::optional<std::uint64_t> interval) {
        return interval ? std::to_string(*interval) : std::string("none");
    };
    return fmt::format(
        "{} follows {}: own rhythm {}, luck of timing {} now (told at 40 and 20); hunch at interval {}, told at {}, of "
        "{}; "
        "{} of {}, own rhythm {}\n",
        direction.led, direction.leader, wealth_words(test.log_e()), wealth_words(test.log_x()), at(test.hunch_at()),
        at(test.tell_at()), test.intervals(), test.count().hits, test.count().of,
        reading::decimals(test.count().chance, 1));
}

}  // namespace

Expected<LeadsResult> leads_from_list(std::string_view text, const std::string& file) {
    const auto sheet = parse_csv(text, file, columns);
    if (!sheet) return tl::make_unexpected(sheet.error());
    if (sheet->rows.empty())
        return failure(ErrorKind::bad_input, file + " has a header and nothing below it", "give one row for each act");
    LeadsResult result;
    std::array<reading::TempoTest, 2> tempo;
    std::optional<Duration> last;
    std::array<std::optional<Duration>, 2> last_of;
    for (const std::vector<CsvCell>& row : sheet->rows) {
        const auto act = act_of(*sheet, row);
        if (!act) return tl::make_unexpected(act.error());
        const auto person = static_cast<std::size_t>(act->who);
        if (const auto good = in_order(*sheet, row[time_s], *act, last, last_of[person]); !good)
            return tl::make_unexpected(good.error());
        result.bout.entered(act->who, act->at);
        ++result.rows[person];
        if (last_of[person]) {
            tempo[person].predict(usual_shortest);
            (void)tempo[person].entered(act->at - *last_of[person]);
            result.keeps_a_beat[person] = result.keeps_a_beat[person] || tempo[person].wealth() >= 20.0;
        }
        last = last_of[person] = act->at;
    }
    return result;
}

std::string leads_words(const LeadsResult& result, bool details) {
    const Direction a_led{&result.bout.a_follows_b(), "A", "B", result.keeps_a_beat[0]};
    const Direction b_led{&result.bout.b_follows_a(), "B", "A", result.keeps_a_beat[1]};
    std::string text = sentence(result, a_led, b_led) + "\n";
    const Lead lead = result.bout.lead();
    const bool claims = lead != Lead::too_few && lead != Lead::no_sign;
    const char* common = "A common beat (music, a clap) looks the same; the coin drill tells them apart.\n";
    if (!details) return claims ? text + common : text;
    text += fmt::format("\n{} acts of A, {} of B\n", result.rows[0], result.rows[1]);
    text += detail_line(a_led) + detail_line(b_led);
    return text + common;
}

}  // namespace breakstep
