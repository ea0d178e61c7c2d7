// `pictures`: the README's pictures. Nothing in them is written by hand but the figure's poses and the names: the set
// is played by a simulated athlete, the pages are those of an invented term that went through the whole chain.
#include <algorithm>
#include <functional>

#include "cli/session_setup.hpp"
#include "club/pages/page_of.hpp"
#include "devices/stage/pictures.hpp"
#include "hall/drivers/fast_driver.hpp"
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
};

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
    return Played{std::move(rest), std::move(*nudge)};
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
    const auto evening = evening_page_of(*shelf, settings, term->athletes, term->last_day);
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

int make_pictures(const std::string& directory) {
    const Settings settings;  // the coach's own have no place in the README
    const auto played = played_set(settings);
    if (!played) return complain(played.error());
    if (const auto written = write_pictures(directory, played->rest, played->nudge); !written)
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
