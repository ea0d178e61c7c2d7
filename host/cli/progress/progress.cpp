#include "cli/progress/progress.hpp"
#include "cli/athletes/shared.hpp"
#include "club/athletes/naming.hpp"

#include <algorithm>
#include <iostream>

#include <fmt/format.h>

#include "cli/session_setup.hpp"
#include "club/consent/consent_words.hpp"
#include "club/csv/csv.hpp"
#include "club/term/progress_report.hpp"
#include "core/iso_date.hpp"
#include "settings/next_file.hpp"

namespace breakstep {
namespace {

Expected<std::optional<std::int32_t>> day_typed(const std::optional<std::string>& typed,
                                                const std::optional<std::int32_t>& otherwise) {
    if (!typed) return otherwise;
    const auto date = date_from(*typed);
    if (!date)
        return tl::make_unexpected(Error{ErrorKind::bad_input, fmt::format("\"{}\" is no date of the calendar", *typed),
                                         "write dates as year-month-day: 2026-09-01"});
    return static_cast<std::int32_t>(date->time_since_epoch().count());
}

bool is_same_name(const std::string& a, const std::string& b) { return folded(a) == folded(b); }

std::optional<Error> unknown_measure(const Term& term, const TermOptions& options) {
    if (options.claimed.measure == progress::on_time_rate) return std::nullopt;
    std::vector<std::string> names;
    for (const progress::AthleteTerm& one : term.terms) {
        if (one.claimed.measure == options.claimed.measure) return std::nullopt;
        for (const auto& other : one.others) {
            if (other.measure == options.claimed.measure && !options.claimed.better.contains(other.measure))
                return Error{ErrorKind::bad_input,
                             fmt::format("nobody said which way of \"{}\" is better", other.measure),
                             "add --better lower or --better higher"};
            if (std::find(names.begin(), names.end(), other.measure) == names.end()) names.push_back(other.measure);
        }
    }
    std::string there;
    for (const std::string& name : names) there += (there.empty() ? "" : ", ") + name;
    return Error{
        ErrorKind::not_found, fmt::format("no athlete has a value of \"{}\"", options.claimed.measure),
        there.empty() ? "bring results in with `breakstep import FILE`" : "name one of those that are there: " + there};
}

/// Keeps the athletes that were asked for. The squad's table was made before: it is about all.
std::optional<Error> keep_asked(Term& term, const ProgressArguments& arguments) {
    const auto is_asked = [&](const Athlete& athlete) {
        return (arguments.athlete.empty() || is_same_name(athlete.call_sign, arguments.athlete)) &&
               (arguments.group.empty() || is_same_name(athlete.group, arguments.group));
    };
    std::erase_if(term.terms, [&](const auto& one) { return !is_asked(term.athlete(one)); });
    std::erase_if(term.left_out, [&](const Athlete& one) { return !is_asked(one); });
    if (!term.terms.empty()) return std::nullopt;
    if (!arguments.athlete.empty()) {
        if (!term.left_out.empty()) return not_shown_error(term.left_out.front(), today_here());
        const bool known = std::any_of(term.athletes.begin(), term.athletes.end(), [&](const Athlete& athlete) {
            return is_same_name(athlete.call_sign, arguments.athlete);
        });
        if (!known)
            return Error{ErrorKind::not_found, fmt::format("there is no athlete called \"{}\"", arguments.athlete),
                         "`breakstep athletes list` shows who is there"};
        return Error{ErrorKind::not_found,
                     fmt::format("{} has no session and no result in these days", arguments.athlete),
                     "run a drill, or choose other days with --from and --to"};
    }
    if (!arguments.group.empty())
        return Error{ErrorKind::not_found,
                     fmt::format("nobody of the group \"{}\" has a session or a result in these days", arguments.group),
                     "`breakstep athletes list` shows the groups"};
    return std::nullopt;
}

}  // namespace

Expected<TermOptions> term_options(const ProgressArguments& arguments, const Settings& settings) {
    TermOptions options = term_options(settings);
    options.today = today_here();
    options.end_of_term = arguments.end_of_term;
    const auto from = day_typed(arguments.from, options.from_day), to = day_typed(arguments.to, options.to_day);
    if (!from) return tl::make_unexpected(from.error());
    if (!to) return tl::make_unexpected(to.error());
    options.from_day = *from;
    options.to_day = *to;
    if (*from && *to && **from > **to)
        return tl::make_unexpected(Error{ErrorKind::bad_input, "the term ends before it begins",
                                         "let --from be the earlier day, --to the later one"});
    if (arguments.measure) options.claimed.measure = *arguments.measure;
    if (arguments.better) {
        if (options.claimed.measure == progress::on_time_rate)
            return tl::make_unexpected(Error{ErrorKind::bad_input, "--better is for an imported measure",
                                             "name it with --measure, or leave --better out"});
        options.claimed.better[options.claimed.measure] =
            *arguments.better == "lower" ? progress::Better::lower : progress::Better::higher;
    }
    return options;
}

Expected<std::vector<Athlete>> write_progress(const ProgressArguments& arguments, const Settings& settings,
                                              std::ostream& out) {
    auto options = term_options(arguments, settings);
    if (!options) return tl::make_unexpected(options.error());
    const auto rules = load_next(settings);
    if (!rules) return tl::make_unexpected(rules.error());
    options->rungs = rules->rungs;
    const auto store = open_kept(arguments.common, settings);
    if (!store) return tl::make_unexpected(store.error());
    auto term = load_term(**store, *options);
    if (!term) return tl::make_unexpected(term.error());
    Coming coming;
    // Of one athlete the plan is the club's, who trains by it; of a group its own.
    coming.plan = progress::group_plan(term->terms, rules->plan);
    if (const auto unknown = unknown_measure(*term, *options)) return tl::make_unexpected(*unknown);
    if (const auto missing = keep_asked(*term, arguments)) return tl::make_unexpected(*missing);
    if (!arguments.group.empty()) coming.plan = progress::group_plan(term->terms, rules->plan);
    for (const progress::AthleteTerm& one : term->terms) coming.next.push_back(progress::next_drill(one, rules->rules));
    if (arguments.common.json)
        out << progress_json(*term, coming);
    else
        print_progress(out, *term, coming, settings.club, arguments.details);
    return std::move(term->left_out);
}

int show_progress(const ProgressArguments& arguments) {
    const auto settings = load_settings(arguments.common.settings);
    if (!settings) return complain(settings.error());
    const auto left_out = write_progress(arguments, *settings, std::cout);
    if (!left_out) return complain(left_out.error());
    tell_left_out(*left_out, today_here());
    return exit_done;
}

}  // namespace breakstep
