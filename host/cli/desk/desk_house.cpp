// What the coach's pages show beside an evening, each by what the commands of the same name use. On the desk's thread;
// each call opens the store for itself, for reading.
#include <fmt/format.h>

#include <algorithm>
#include <set>
#include <sstream>

#include "cli/desk/desk.hpp"
#include "cli/desk/felt.hpp"
#include "cli/progress/progress.hpp"
#include "cli/session_setup.hpp"
#include "cli/timeable/timeable.hpp"
#include "club/athletes/kept_taps.hpp"
#include "club/athletes/naming.hpp"
#include "club/consent/consent_words.hpp"
#include "club/lists/leads_list.hpp"
#include "club/pages/page_of.hpp"
#include "club/term/term.hpp"
#include "core/iso_date.hpp"
#include "files/reading.hpp"
#include "report/pages/page_picture.hpp"
#include "settings/drill_file.hpp"

namespace breakstep {
namespace {

constexpr std::size_t longest_drill = 64 * 1024;

Expected<std::vector<desk::AthleteSeen>> athletes_seen(const CommonOptions& options, const Settings& settings) {
    const auto store = open_store(options, settings, StoreMode::read_only);
    if (!store) return tl::make_unexpected(store.error());
    const auto athletes = (*store)->athletes();
    if (!athletes) return tl::make_unexpected(athletes.error());
    const std::string today = today_here();
    std::vector<desk::AthleteSeen> seen;
    for (const Athlete& each : *athletes) {
        if (each.call_sign.empty()) continue;
        const bool kept = may_keep(each, today);
        seen.push_back({each.id, each.call_sign, each.group, kept ? "kept" : why_not_kept(each, today), kept});
    }
    return seen;
}

Expected<std::string> page_at_home(const CommonOptions& options, const Settings& settings, AthleteId id) {
    const auto store = open_kept(options, settings);
    if (!store) return tl::make_unexpected(store.error());
    const auto athlete = athlete_typed(**store, id_text(id));
    if (!athlete) return tl::make_unexpected(athlete.error());
    const std::string today = today_here();
    if (!may_keep(*athlete, today)) return tl::make_unexpected(not_shown_error(*athlete, today));
    const auto rules = load_next(settings);
    if (!rules) return tl::make_unexpected(rules.error());
    TermOptions wanted = term_options(settings);
    wanted.today = today;
    wanted.rungs = rules->rungs;
    const auto term = load_term(**store, wanted);
    if (!term) return tl::make_unexpected(term.error());
    const auto shelf = Shelf::open(**store, settings);
    if (!shelf) return tl::make_unexpected(shelf.error());
    const auto own = std::find_if(term->terms.begin(), term->terms.end(),
                                  [&](const progress::AthleteTerm& one) { return term->athlete(one).id == id; });
    const auto page = athlete_page_of(*shelf, settings, *rules, *athlete, own == term->terms.end() ? nullptr : &*own);
    if (!page) return tl::make_unexpected(page.error());
    return pages::page_svg([&](cairo_t* cairo) { pages::draw_athlete_page(cairo, *page, Theme::paper); });
}

bool may_be_shown(const std::vector<Athlete>& athletes, const SessionSummary& session, const std::string& today,
                  std::string& call_sign) {
    if (!session.athlete) return false;
    const auto own = std::find_if(athletes.begin(), athletes.end(),
                                  [&](const Athlete& each) { return each.id == *session.athlete; });
    if (own == athletes.end() || !may_keep(*own, today)) return false;
    call_sign = own->call_sign;
    return true;
}

Expected<std::vector<desk::SessionSeen>> sessions_seen(const CommonOptions& options, const Settings& settings) {
    const auto store = open_store(options, settings, StoreMode::read_only);
    if (!store) return tl::make_unexpected(store.error());
    const auto athletes = (*store)->athletes();
    if (!athletes) return tl::make_unexpected(athletes.error());
    const auto sessions = (*store)->sessions();
    if (!sessions) return tl::make_unexpected(sessions.error());
    constexpr std::size_t most = 200;
    std::vector<desk::SessionSeen> seen;
    for (auto each = sessions->rbegin(); each != sessions->rend() && seen.size() < most; ++each) {
        std::string call_sign;
        if (each->reps == 0 || !may_be_shown(*athletes, *each, today_here(), call_sign)) continue;
        seen.push_back({each->id, call_sign, each->drill,
                        date_text(std::chrono::sys_days(std::chrono::days(evening_of(each->began_unix_seconds)))),
                        each->reps});
    }
    return seen;
}

Expected<std::vector<RepSeen>> reps_of_session(const CommonOptions& options, const Settings& settings, SessionId id) {
    const auto store = open_store(options, settings, StoreMode::read_only);
    if (!store) return tl::make_unexpected(store.error());
    const auto athletes = (*store)->athletes();
    if (!athletes) return tl::make_unexpected(athletes.error());
    const auto session = (*store)->find_session(id_text(id));
    if (!session) return tl::make_unexpected(session.error());
    std::string call_sign;
    if (!may_be_shown(*athletes, *session, today_here(), call_sign))
        return failure(ErrorKind::not_found, "nothing of that session may be shown", "look at `athletes list`");
    const auto reps = (*store)->reps(id);
    if (!reps) return tl::make_unexpected(reps.error());
    std::vector<RepSeen> seen;
    for (const RepResult& rep : *reps) seen.push_back({0, id, *session->athlete, rep});
    return seen;
}

Expected<std::string> drill_text(const std::string& name) {
    Expected<std::string> text =
        failure(ErrorKind::not_found, "there is no drill " + name, "`breakstep drills` lists them");
    for (const auto& folder : drill_folders()) {
        text = files::read_whole(folder / (name + ".toml"), longest_drill);
        if (text || text.error().kind != ErrorKind::not_found) return text;
    }
    return text;
}

// The command itself, so that the answer can't be another.
Expected<desk::TapAnswer> told_by_timeable(const std::string& list) {
    const auto run = [&](std::vector<std::string> arguments, std::string& said) {
        std::istringstream in(list);
        std::ostringstream out, err;
        const int code = run_timeable(arguments, in, out, err);
        said = code == exit_done ? out.str() : err.str();
        return code == exit_done;
    };
    desk::TapAnswer answer;
    if (!run({"-"}, answer.words) || !run({"--json", "-"}, answer.json))
        return failure(ErrorKind::bad_input, answer.words.empty() ? answer.json : answer.words, "tap again");
    return answer;
}

Expected<desk::TapAnswer> told_by_leads(const std::string& list) {
    const auto result = leads_from_list(list, "the taps");
    if (!result) return tl::make_unexpected(result.error());
    return desk::TapAnswer{leads_words(*result, false), leads_json(*result)};
}

// The athlete's results may be kept, or nothing of theirs is, taps neither.
Expected<void> keep_taps_of(const CommonOptions& options, const Settings& settings, AthleteId id,
                            const desk::TapsKept& taps) {
    const auto store = open_store(options, settings, StoreMode::read_only);
    if (!store) return tl::make_unexpected(store.error());
    const auto athlete = athlete_typed(**store, id_text(id));
    if (!athlete) return tl::make_unexpected(athlete.error());
    if (!may_keep(*athlete, today_here())) return tl::make_unexpected(not_shown_error(*athlete, today_here()));
    return keep_taps(taps_file(store_path(options, settings), id), {today_here(), taps.a, taps.b});
}

Expected<std::vector<desk::TapsKept>> kept_taps_of(const std::filesystem::path& store, AthleteId id) {
    const auto kept = read_taps(taps_file(store, id));
    if (!kept) return tl::make_unexpected(kept.error());
    std::vector<desk::TapsKept> seen;
    for (auto each = kept->rbegin(); each != kept->rend(); ++each) seen.push_back({each->day, each->a, each->b});
    return seen;
}

Expected<std::vector<desk::CalibrationSeen>> calibrations_seen(const CommonOptions& options, const Settings& settings) {
    constexpr std::int64_t seconds_a_day = 86'400, stale_after_days = 60;
    const auto store = open_store(options, settings, StoreMode::read_only);
    if (!store) return tl::make_unexpected(store.error());
    const auto known = (*store)->calibrations();
    if (!known) return tl::make_unexpected(known.error());
    std::vector<desk::CalibrationSeen> seen;
    for (const OnsetSource source : {OnsetSource::sound, OnsetSource::screen}) {
        const std::string what(word(source));
        std::set<std::string> told;
        for (const Calibration& each : *known) {
            if (each.source != source || !told.insert(each.device).second) continue;
            const std::int64_t days =
                std::max<std::int64_t>(0, unix_now() - each.measured_unix_seconds) / seconds_a_day;
            const double delay = static_cast<double>(each.delay.count()) / 1e6;
            const std::string spread =
                each.spread == unknown_uncertainty
                    ? std::string("too uneven to be used")
                    : fmt::format("give or take {:.1f} ms", static_cast<double>(each.spread.count()) / 1e6);
            seen.push_back({fmt::format("{}: {}", what, each.device),
                            fmt::format("{}: {:.1f} ms late, {}, {} times heard or seen{}",
                                        days == 0   ? std::string("today")
                                        : days == 1 ? std::string("yesterday")
                                                    : fmt::format("{} days ago", days),
                                        delay, spread, each.samples, days > stale_after_days ? "; do it again" : "")});
        }
        if (told.empty())
            seen.push_back(
                {what, fmt::format("never: latencies of drills cued by {} alone say \"not measured\"", what)});
    }
    return seen;
}

}  // namespace

std::filesystem::path desk_folder(const std::filesystem::path& store) { return store.string() + ".desk"; }

desk::DeskHouse house_without_evening(const CommonOptions& options, const Settings& settings) {
    desk::DeskHouse house;
    house.club = settings.club;
    if (const auto listed = list_drills(settings))
        for (const Drill& drill : listed->drills) house.drills.push_back({drill.name, drill.title});
    house.athletes = [options, settings] { return athletes_seen(options, settings); };
    house.progress = [options, settings]() -> Expected<std::string> {
        ProgressArguments arguments;
        arguments.common = options;
        std::ostringstream out;
        if (const auto written = write_progress(arguments, settings, out); !written)
            return tl::make_unexpected(written.error());
        return out.str();
    };
    house.sessions = [options, settings] { return sessions_seen(options, settings); };
    house.session_reps = [options, settings](SessionId id) { return reps_of_session(options, settings, id); };
    const std::filesystem::path folder = desk_folder(store_path(options, settings));
    house.felt = [options, settings, folder](const desk::FeltInSet& felt) -> Expected<void> {
        const auto store = open_store(options, settings, StoreMode::read_only);
        if (!store) return tl::make_unexpected(store.error());
        return keep_felt(folder, **store, felt);
    };
    house.agreement = [options, settings, folder]() -> Expected<std::string> {
        const auto store = open_store(options, settings, StoreMode::read_only);
        if (!store) return tl::make_unexpected(store.error());
        return felt_and_figures(folder, **store);
    };
    house.page = [options, settings](AthleteId id) { return page_at_home(options, settings, id); };
    house.drill_text = drill_text;
    house.check_drill = [settings](const std::string& text) -> Expected<std::string> {
        const auto drill = parse_drill(text, "the drill", "drill", settings);
        if (!drill) return tl::make_unexpected(drill.error());
        return words_of_check(*drill);
    };
    const std::filesystem::path beside = store_path(options, settings);
    house.keep_taps = [options, settings](AthleteId id, const desk::TapsKept& taps) {
        return keep_taps_of(options, settings, id, taps);
    };
    house.taps_of = [beside](AthleteId id) { return kept_taps_of(beside, id); };
    house.calibrations = [options, settings] { return calibrations_seen(options, settings); };
    house.timeable = told_by_timeable;
    house.leads = told_by_leads;
    return house;
}

}  // namespace breakstep
