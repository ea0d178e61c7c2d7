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

/// Heron's second set of kicks and feints, and who comes next.
Expected<StageRest> played_set(const Settings& settings) {
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
    return rest;
}

using Draw = std::function<void(cairo_t*)>;

/// The pages of the term in this store: of an athlete, the group and the last evening.
Expected<void> write_pages(const std::string& directory, const std::filesystem::path& file, const Settings& settings) {
    StoreOptions read_only;
    read_only.mode = StoreMode::read_only;
    const auto store = Store::open(file, read_only);
    if (!store) return tl::make_unexpected(store.error());
    TermOptions options;
    options.end_of_term = true;
    const auto term = load_term(**store, options);
    if (!term) return tl::make_unexpected(term.error());
    const auto shelf = Shelf::open(**store, settings);
    if (!shelf) return tl::make_unexpected(shelf.error());
    const auto rules = load_next(settings);
    if (!rules) return tl::make_unexpected(rules.error());
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
    const auto rest = played_set(settings);
    if (!rest) return complain(rest.error());
    if (const auto written = write_pictures(directory, *rest); !written) return complain(written.error());
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
