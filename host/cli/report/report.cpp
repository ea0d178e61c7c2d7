#include "cli/report/report.hpp"
#include "club/athletes/naming.hpp"

#include <algorithm>
#include <iostream>
#include <set>

#include <fmt/format.h>

#include "cli/athletes/shared.hpp"
#include "cli/session_setup.hpp"
#include "club/consent/consent_words.hpp"
#include "club/csv/csv.hpp"
#include "club/pages/page_of.hpp"
#include "core/iso_date.hpp"
#include "report/pages/page_file.hpp"

namespace breakstep {
namespace {

using pages::Format;
using pages::PageFile;

Format format_of(const ReportArguments& arguments) {
    return arguments.format == "png" ? Format::png : arguments.format == "svg" ? Format::svg : Format::pdf;
}

Theme theme_of(const ReportArguments& arguments) { return arguments.grey ? Theme::grey_paper : Theme::paper; }

/// A disk that has no room for a page is not the store's.
int complain_of_report(const Error& error) {
    return error.kind == ErrorKind::no_space ? complain(error, exit_failed) : complain(error);
}

/// Whom a file shows.
using Shown = std::vector<std::uint64_t>;
Shown shown_alone(const Athlete& athlete) { return {static_cast<std::uint64_t>(athlete.id)}; }

/// Writes one file's pages and prints their paths.
Expected<void> write_and_say(const ReportArguments& arguments, PageFile file, const std::string& stem, Shown whom) {
    file.folder = arguments.folder;
    file.stem = stem + (arguments.grey ? "-grey" : "");
    file.athletes = std::move(whom);
    const auto paths = pages::write_pages(file, format_of(arguments), arguments.overwrite);
    if (!paths) return tl::make_unexpected(paths.error());
    for (const auto& path : *paths) std::cout << path.string() << '\n';
    return {};
}

PageFile sheet_file(std::string title, std::int32_t last_day, std::vector<std::function<void(cairo_t*)>> drawn) {
    return {"", "", std::move(title), day_text(last_day), pages::page_width, pages::page_height, std::move(drawn)};
}

/// A chart by itself.
Expected<void> write_chart(const ReportArguments& arguments, const std::string& stem, const Athlete& athlete,
                           pages::ChartSize size, std::int32_t last_day, std::function<void(cairo_t*)> draw) {
    return write_and_say(arguments, {"", "", "", day_text(last_day), size.width, size.height, {std::move(draw)}}, stem,
                         shown_alone(athlete));
}

Expected<void> write_charts(const ReportArguments& arguments, const std::string& stem, const Athlete& athlete,
                            const pages::AthletePage& page, std::int32_t last_day) {
    const Theme theme = theme_of(arguments);
    Expected<void> done;
    const auto add = [&](const char* name, pages::ChartSize size, auto draw) {
        if (done) done = write_chart(arguments, stem + "-" + name, athlete, size, last_day, draw);
    };
    const auto add_test = [&](const char* name, const std::optional<pages::TestStrip>& test) {
        if (test)
            add(name, pages::test_chart_size(*test),
                [&](cairo_t* cairo) { pages::draw_test_chart(cairo, *test, theme); });
    };
    add_test("first-test", page.first_test);
    add_test("last-test", page.last_test);
    if (!page.plot.points.empty())
        add("evenings", pages::plot_chart_size(),
            [&](cairo_t* cairo) { pages::draw_plot_chart(cairo, page.plot, theme); });
    if (!page.answers.empty())
        add("answers", pages::answers_chart_size(page),
            [&](cairo_t* cairo) { pages::draw_answers_chart(cairo, page, theme); });
    static constexpr const char* periods[] = {"rhythm-first", "rhythm-last"};
    for (std::size_t i = 0; i < std::min(page.rhythm.size(), std::size(periods)); ++i)
        add(periods[i], pages::rhythm_chart_size(page.rhythm[i]),
            [&, i](cairo_t* cairo) { pages::draw_rhythm_chart(cairo, page.rhythm[i], theme); });
    return done;
}

/// A page with boxes in place of letters is still written, but not in silence.
void tell_missing_fonts(const std::string& name) {
    const int missing = characters_without_font(name);
    if (missing == 0) return;
    std::cerr << fmt::format(
        "breakstep: no font of this computer has {} of the characters of \"{}\"; the page shows boxes in their place "
        "(apt-get install fonts-noto-core fonts-noto-cjk fonts-noto-color-emoji, then again)\n",
        missing, name);
}

/// What a report of a term is made from; good while with_term() runs.
struct Opened {
    const Settings& settings;
    const NextRules& rules;
    const Kept& store;
    const Shelf& shelf;
    Term& term;
};

Expected<void> write_athlete(const ReportArguments& arguments, const Opened& opened, const Athlete& athlete,
                             const progress::AthleteTerm* term) {
    const std::string today = today_here();
    if (!may_keep(athlete, today)) return tl::make_unexpected(not_shown_error(athlete, today));
    const auto page = athlete_page_of(opened.shelf, opened.settings, opened.rules,
                                      arguments.with_names ? with_real_name(athlete) : athlete, term);
    if (!page) return tl::make_unexpected(page.error());
    tell_missing_fonts(page->call_sign);
    const std::int32_t last_day = term == nullptr ? evening_of(athlete.added_unix_seconds) : term->last_day;
    const Theme theme = theme_of(arguments);
    const std::string stem = "athlete-" + pages::safe_name(shown(athlete), static_cast<std::uint64_t>(athlete.id));
    const auto written =
        write_and_say(arguments,
                      sheet_file(fmt::format("{}, {}", page->call_sign, page->club), last_day,
                                 {[&](cairo_t* cairo) { pages::draw_athlete_page(cairo, *page, theme); }}),
                      stem, shown_alone(athlete));
    if (!written || format_of(arguments) != Format::svg) return written;
    return write_charts(arguments, stem, athlete, *page, last_day);
}

const progress::AthleteTerm* term_of(const Term& term, const Athlete& athlete) {
    for (const progress::AthleteTerm& one : term.terms)
        if (term.athlete(one).id == athlete.id) return &one;
    return nullptr;
}

/// What every report opens: settings, store, the term, the shelf.
int with_term(const ReportArguments& arguments, const std::function<Expected<void>(const Opened&)>& work) {
    const auto settings = load_settings(arguments.term.common.settings);
    if (!settings) return complain(settings.error());
    auto options = term_options(arguments.term, *settings);
    if (!options) return complain(options.error());
    const auto rules = load_next(*settings);
    if (!rules) return complain(rules.error());
    options->rungs = rules->rungs;
    const auto store = open_kept(arguments.term.common, *settings);
    if (!store) return complain(store.error());
    auto term = load_term(**store, *options);
    if (!term) return complain(term.error());
    const auto shelf = Shelf::open(**store, *settings);
    if (!shelf) return complain(shelf.error());
    note_made_in(**store, arguments.folder);
    const auto done = work({*settings, *rules, **store, *shelf, *term});
    return done ? exit_done : complain_of_report(done.error());
}

/// Keeps the athletes of the group that was asked for.
Expected<void> keep_group(Term& term, const std::string& group) {
    if (group.empty()) return {};
    const auto is_other = [&](const Athlete& athlete) { return folded(athlete.group) != folded(group); };
    std::erase_if(term.terms, [&](const auto& one) { return is_other(term.athlete(one)); });
    std::erase_if(term.left_out, is_other);
    if (!term.terms.empty()) return {};
    return failure(ErrorKind::not_found,
                   fmt::format("nobody of the group \"{}\" has a session or a result in these days", group),
                   "`breakstep athletes list` shows the groups");
}

void show_real_names(std::vector<Athlete>& athletes) {
    for (Athlete& athlete : athletes) athlete = with_real_name(athlete);
}

/// Who has a session on that evening, and no consent that holds.
std::vector<Athlete> left_out_on(const Shelf& shelf, const std::vector<Athlete>& athletes, std::int32_t day) {
    std::vector<Athlete> left_out;
    const std::string today = today_here();
    for (const Athlete& athlete : athletes)
        if (!may_keep(athlete, today) && !shelf.sessions_of(athlete.id, day, day).empty()) left_out.push_back(athlete);
    return left_out;
}

}  // namespace

int report_athletes(const ReportArguments& arguments) {
    if (arguments.all != arguments.athlete.empty())
        return complain({ErrorKind::bad_input,
                         arguments.all ? "a call-sign and --all were both given" : "no athlete was named",
                         "name one call-sign, or write --all"});
    return with_term(arguments, [&](const Opened& opened) -> Expected<void> {
        Term& term = opened.term;
        if (!arguments.all) {
            const auto athlete = athlete_typed(opened.store, arguments.athlete);
            if (!athlete) return tl::make_unexpected(athlete.error());
            return write_athlete(arguments, opened, *athlete, term_of(term, *athlete));
        }
        if (const auto kept = keep_group(term, arguments.term.group); !kept) return kept;
        tell_left_out(term.left_out, today_here());
        if (term.terms.empty())
            return failure(ErrorKind::not_found, "no athlete has a session or a result in these days",
                           "run a drill, import past results, or choose other days with --from and --to");
        for (const progress::AthleteTerm& one : term.terms)
            if (const auto written = write_athlete(arguments, opened, term.athlete(one), &one); !written)
                return written;
        return {};
    });
}

int report_group(const ReportArguments& arguments) {
    return with_term(arguments, [&](const Opened& opened) -> Expected<void> {
        Term& term = opened.term;
        if (const auto kept = keep_group(term, arguments.term.group); !kept) return kept;
        tell_left_out(term.left_out, today_here());
        if (arguments.with_names) show_real_names(term.athletes);
        const pages::GroupPage page = group_page_of(opened.shelf, opened.settings, opened.rules, term);
        for (const pages::GroupRow& row : page.rows) tell_missing_fonts(row.call_sign);
        const Theme theme = theme_of(arguments);
        std::vector<std::function<void(cairo_t*)>> sheets;
        for (std::size_t sheet = 0; sheet < pages::group_sheets(page); ++sheet)
            sheets.emplace_back([&, sheet](cairo_t* cairo) { pages::draw_group_page(cairo, page, sheet, theme); });
        const std::string stem =
            arguments.term.group.empty() ? "group" : "group-" + pages::safe_name(arguments.term.group, 0);
        Shown whom;
        for (const progress::AthleteTerm& one : term.terms)
            whom.push_back(static_cast<std::uint64_t>(term.athlete(one).id));
        return write_and_say(arguments, sheet_file("The group, " + page.club, term.last_day, std::move(sheets)), stem,
                             std::move(whom));
    });
}

int report_evening(const ReportArguments& arguments) {
    const auto settings = load_settings(arguments.term.common.settings);
    if (!settings) return complain(settings.error());
    const auto store = open_kept(arguments.term.common, *settings);
    if (!store) return complain(store.error());
    const auto shelf = Shelf::open(**store, *settings);
    if (!shelf) return complain(shelf.error());
    const auto date = date_from(arguments.evening);
    if (!date && arguments.evening != "last")
        return complain({ErrorKind::bad_input, fmt::format("\"{}\" is no date of the calendar", arguments.evening),
                         "write the evening as year-month-day, 2026-11-03, or `last`"});
    if (shelf->sessions().empty())
        return complain({ErrorKind::not_found, (*store)->place() + " holds no session",
                         "run a drill first, or name another store with --store"});
    const std::int32_t day =
        date ? static_cast<std::int32_t>(date->time_since_epoch().count())
             : std::max_element(shelf->sessions().begin(), shelf->sessions().end(), [](const auto& a, const auto& b) {
                   return a.day < b.day;
               })->day;
    auto athletes = (*store)->athletes();
    if (!athletes) return complain(athletes.error());
    tell_left_out(left_out_on(*shelf, *athletes, day), today_here());
    if (arguments.with_names) show_real_names(*athletes);
    // What comes next for whom is the term's to say, up to that evening and after it.
    const auto rules = load_next(*settings);
    if (!rules) return complain(rules.error());
    TermOptions options;
    options.rungs = rules->rungs;
    auto term = load_term(**store, options);
    if (!term) return complain(term.error());
    if (arguments.with_names) show_real_names(term->athletes);
    const auto page = evening_page_of(*shelf, *settings, *athletes, day, &*rules, &*term);
    if (!page) return complain(page.error());
    const Theme theme = theme_of(arguments);
    std::vector<std::function<void(cairo_t*)>> sheets;
    for (std::size_t sheet = 0; sheet < pages::evening_sheets(*page); ++sheet)
        sheets.emplace_back([&, sheet](cairo_t* cairo) { pages::draw_evening_page(cairo, *page, sheet, theme); });
    std::set<std::uint64_t> whom;
    for (const ShelvedSession& session : shelf->sessions())
        if (session.day == day && session.summary.athlete)
            whom.insert(static_cast<std::uint64_t>(*session.summary.athlete));
    note_made_in(**store, arguments.folder);
    const auto written = write_and_say(
        arguments, sheet_file("The evening of " + day_text(day) + ", " + page->club, day, std::move(sheets)),
        "evening-" + day_text(day), {whom.begin(), whom.end()});
    return written ? exit_done : complain_of_report(written.error());
}

}  // namespace breakstep
