// `pictures`: the README's pictures. Nothing in them is written by hand but the figure's poses and the names: the set
// is played by a simulated athlete, the pages are those of an invented term that went through the whole chain.
#include <algorithm>
#include <functional>

#include "cli/session_setup.hpp"
#include "club/pages/page_of.hpp"
#include "devices/stage/pictures.hpp"
#include "files/place.hpp"
#include "hall/drivers/fast_driver.hpp"
#include "hall/scene/pairs_view.hpp"
#include "hall/scene/scene_view.hpp"
#include "report/pages/page_picture.hpp"
#include "settings/drill_file.hpp"
#include "store/memory_journal.hpp"

namespace breakstep {
namespace {

// Any would do; with this one the set shows most of what a set can.
constexpr std::uint64_t set_seed = 4;

struct Played {
    StageRest rest;
    StageNudge nudge;
    std::vector<StagePicture> more;
};

StageView task_view(const Settings& settings, const char* drill_name, const char* call_sign, std::int32_t set) {
    StageView view;
    view.screen = StageScreen::task;
    view.athlete = call_sign;
    const auto drill = load_drill(drill_name, settings);
    const auto profile = find_athlete(call_sign);
    if (!drill || !profile) return view;
    SessionBegan session;
    session.drill = *drill;
    session.athlete_lead = profile->lead;
    view.task = task_of(session, set);
    return view;
}

StageView block_view() {
    StageView view;
    view.screen = StageScreen::block;
    view.turns.club = "Saltmarsh Hall";
    view.block = {"pairs",        "round 2, adults",    "One height, four metres apart.", "gates one hole up",
                  pictures_begin, pictures_begin + 600s};
    return view;
}

StageView turns_view() {
    StageView view;
    view.screen = StageScreen::turns;
    view.turns.club = "Saltmarsh Hall";
    view.turns.next = "Curlew";
    view.turns.drill = "Drop of a single kick, front hand";
    view.turns.prompt = "Strike a pad for your task.";
    view.turns.follows = {
        {"Lapwing", 2, ""}, {"Dunlin", 5, "gates one hole down"}, {"Plover", 7, ""}, {"Avocet", 9, ""}};
    view.turns.turns_done = 9;
    view.turns.turns = 24;
    view.turns.minutes_left = 31;
    view.turns.evening = {
        {"warm-up", 10, 1}, {"round 1", 18, 1}, {"drink", 3, 1}, {"round 2", 20, 0.4}, {"close", 8, 0}};
    return view;
}

/// A class of ten pairs, as `pairs` plans it: a change over, and a cue in its midst.
std::vector<StagePicture> class_pictures(const Settings& settings) {
    const auto drill = load_drill("untidy-beginner", settings);
    if (!drill) return {};
    PairsClass shown{*drill, {}, {}};
    PairsOptions options;
    options.pairs = 10;
    shown.rounds = plan_pairs(*drill, set_seed, options);
    constexpr const char* birds[] = {"Plover", "Dunlin",     "Godwit",  "Avocet",   "Snipe",    "Lapwing", "Wigeon",
                                     "Teal",   "Gadwall",    "Pintail", "Tern",     "Shelduck", "Bittern", "Egret",
                                     "Ruff",   "Sanderling", "Knot",    "Whimbrel", "Rail",     "Redshank"};
    for (std::size_t i = 0; i + 1 < std::size(birds); i += 2) shown.names.emplace_back(birds[i], birds[i + 1]);
    std::vector<StagePicture> pictures;
    for (const PairsStep& step : steps_of(shown)) {
        const bool change = step.shown.change_over && pictures.empty();
        const bool cue = !step.shown.change_over && step.shown.cue == 3 && step.shown.end > step.shown.begin;
        if (!change && !cue) continue;
        pictures.push_back(
            {change ? "stage-pairs-change" : "stage-pairs-cue", pairs_view(step, pictures_begin - step.from), 1s});
        if (cue) break;
    }
    return pictures;
}

std::vector<RepResult> first_set(const Score& score) {
    std::vector<RepResult> reps;
    for (const RepResult& rep : score.reps())
        if (rep.set == 0) reps.push_back(rep);
    return reps;
}

/// Every screen that a set's own does not show.
std::vector<StagePicture> more_pictures(const Settings& settings, const Score& score) {
    std::vector<StagePicture> pictures{
        {"stage-task", task_view(settings, "drop-of-a-single-kick", "Heron", 0), {}},
        {"stage-task-gap", task_view(settings, "gap-of-a-single-kick", "Plover", 0), {}},
        {"stage-task-lift", task_view(settings, "meeting-the-lift", "Dunlin", 1), {}},
        {"stage-task-rebounds", task_view(settings, "rebounds", "Avocet", 0), {}},
        {"stage-task-around", task_view(settings, "around-the-held-leg", "Egret", 0), {}},
        {"stage-block", block_view(), 225s},
        {"stage-turns", turns_view(), {}}};
    pictures[0].view.task.caution = caution_before_the_first_set();
    StageView watch = task_view(settings, "feints", "Lapwing", 0);
    watch.task.watch_since = pictures_begin - 700ms;
    watch.task.caution = caution_before_the_first_set();
    pictures.push_back({"stage-watch-first", watch, 1500ms});
    StageView summary;
    summary.screen = StageScreen::summary;
    summary.athlete = "Heron";
    summary.saved = true;
    summary.summary = summary_of(score, false);
    add_last_time(summary.summary, last_time_of(first_set(score)));
    summary.summary.next = "Curlew";
    summary.summary.then = "Lapwing";
    summary.summary.prompt = "Strike a pad for your task.";
    pictures.push_back({"stage-summary", summary, {}});
    summary.athlete = "Dunlin";
    summary.summary = summary_of(score, true);
    summary.summary.next = "Plover";
    summary.summary.prompt = "Strike a pad for your task.";
    pictures.push_back({"stage-summary-child", summary, {}});
    for (StagePicture& each : class_pictures(settings)) pictures.push_back(std::move(each));
    return pictures;
}

/// The moment in which the athlete was told.
std::optional<StageNudge> told_in(const std::vector<JournalRecord>& records) {
    Score score;
    std::vector<ScoreResult> results;
    std::optional<StageNudge> nudge;
    for (const JournalRecord& record : records) {
        results.clear();
        score.fold(record, results);
        for (const ScoreResult& result : results)
            if (const auto* sign = std::get_if<SignRaised>(&result);
                sign != nullptr && sign->kind == SignKind::timed && sign->sign == Sign::tell)
                nudge = nudge_of(*sign, {});
    }
    return nudge;
}

/// Heron's second set of kicks and feints, and who comes next.
Expected<Played> played_set(const Settings& settings) {
    const auto drill = load_drill("feints", settings);
    if (!drill) return tl::make_unexpected(drill.error());
    const auto heron = find_athlete("Heron");
    if (!heron) return failure(ErrorKind::not_found, "the club has no Heron", "name another athlete for the pictures");
    AthleteProfile profile = *heron;
    profile.impulsive = 0.35;  // a set without a fault shows little
    const HostTime begin{Duration{1'000'000'000}};
    SimulatedTarget target(simulated_target_settings(set_seed), begin);
    target.set_athlete(begin, {profile, drill->attacks, set_seed});
    VirtualCues cues(nullptr, begin);
    MemoryJournal journal;
    FastDriver driver(engine_settings({}, set_seed), target, journal, cues, nullptr, begin);
    SessionBegan began;
    began.session = SessionId{1};
    began.athlete = AthleteId{1};
    began.seed = set_seed;
    began.drill = *drill;
    SceneNames names;
    names.lift = drill->opponent.lift;
    const auto how = driver.run(began, names, 3600s);
    if (!how) return tl::make_unexpected(how.error());
    StageRest rest = rest_of_set(*driver.core().engine().score(), 1, drill->sets, false);
    rest.next = "Curlew";
    rest.then = "Lapwing";
    auto nudge = told_in(journal.sessions().at(began.session).records);
    if (!nudge)
        return failure(ErrorKind::not_found, "Heron was not told in the set for the pictures", "choose another seed");
    return Played{std::move(rest), std::move(*nudge), more_pictures(settings, *driver.core().engine().score())};
}

using Draw = std::function<void(cairo_t*)>;

/// The pages of the term in this store: of an athlete, the group and the last evening.
Expected<void> write_pages(const std::string& directory, const std::filesystem::path& file, const Settings& settings) {
    StoreOptions read_only;
    read_only.mode = StoreMode::read_only;
    const auto store = Store::open(file, read_only);
    if (!store) return tl::make_unexpected(store.error());
    const auto rules = load_next(settings);
    if (!rules) return tl::make_unexpected(rules.error());
    TermOptions options;
    options.end_of_term = true;
    options.rungs = rules->rungs;
    const auto term = load_term(**store, options);
    if (!term) return tl::make_unexpected(term.error());
    const auto shelf = Shelf::open(**store, settings);
    if (!shelf) return tl::make_unexpected(shelf.error());
    const auto one = std::find_if(term->terms.begin(), term->terms.end(), [&](const progress::AthleteTerm& each) {
        return each.claimed.claim.claim == progress::Claim::improved && each.hits.scored > 0;
    });
    if (one == term->terms.end())
        return failure(ErrorKind::not_found, "nobody of the invented term improved", "choose another seed for it");
    const auto athlete = athlete_page_of(*shelf, settings, *rules, term->athlete(*one), &*one);
    if (!athlete) return tl::make_unexpected(athlete.error());
    const pages::GroupPage group = group_page_of(*shelf, settings, *rules, *term);
    const auto evening = evening_page_of(*shelf, settings, term->athletes, term->last_day, &*rules, &*term);
    if (!evening) return tl::make_unexpected(evening.error());
    const std::pair<const char*, Draw> pictures[] = {
        {"page-athlete.png", [&](cairo_t* cairo) { pages::draw_athlete_page(cairo, *athlete, Theme::paper); }},
        {"page-athlete-grey.png",
         [&](cairo_t* cairo) { pages::draw_athlete_page(cairo, *athlete, Theme::grey_paper); }},
        {"page-group.png", [&](cairo_t* cairo) { pages::draw_group_page(cairo, group, 0, Theme::paper); }},
        {"page-evening.png", [&](cairo_t* cairo) { pages::draw_evening_page(cairo, *evening, 0, Theme::paper); }}};
    for (const auto& [name, draw] : pictures)
        if (const auto written = pages::write_page_picture(directory + "/" + name, draw); !written) return written;
    return {};
}

}  // namespace

int make_pictures(const std::string& directory, StageSize size) {
    const Settings settings;  // the coach's own have no place in the README
    auto played = played_set(settings);
    if (!played) return complain(played.error());
    if (const auto made = files::make_folder(directory); !made) return complain(made.error());
    if (const auto written = write_pictures(directory, played->rest, played->nudge, std::move(played->more), size);
        !written)
        return complain(written.error());
    std::string folder = (std::filesystem::temp_directory_path() / "breakstep-pictures-XXXXXX").string();
    if (mkdtemp(folder.data()) == nullptr)
        return complain(
            {ErrorKind::device,
             "no folder for the invented term could be made in " + std::filesystem::temp_directory_path().string(),
             "make room there, or set TMPDIR to another folder"});
    const std::filesystem::path file = std::filesystem::path(folder) / "term.db";
    Expected<void> done = make_term_store(file);
    if (done) done = write_pages(directory, file, settings);
    std::error_code ignored;
    std::filesystem::remove_all(folder, ignored);
    return done ? exit_done : complain(done.error());
}

}  // namespace breakstep
