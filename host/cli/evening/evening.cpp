// `evening`: the rig is found and checked, then who is here, what they do and what fits; then turn after turn at one
// rig, with one window, one sound device and one store, until the plan is through.
#include <fmt/format.h>

#include <algorithm>
#include <cstdio>
#include <iostream>
#include <string>

#include "cli/athletes/shared.hpp"
#include "cli/consent/copies_gone.hpp"
#include "cli/consent/tonight_store.hpp"
#include "cli/evening/dialog.hpp"
#include "cli/evening/evening_setup.hpp"
#include "cli/evening/night.hpp"
#include "club/athletes/naming.hpp"
#include "core/error.hpp"
#include "devices/simulated/simulate_rig.hpp"
#include "settings/drill_file.hpp"
#include "settings/evening_file.hpp"

namespace breakstep {
namespace {

using namespace evening;

constexpr std::int64_t stale_after_days = 60;
constexpr std::int64_t seconds_a_day = 86'400;

void say_how_old(const std::vector<Calibration>& calibrations, OnsetSource source) {
    const auto newest = std::find_if(calibrations.begin(), calibrations.end(),
                                     [source](const Calibration& each) { return each.source == source; });
    if (newest == calibrations.end()) {
        std::cout << fmt::format(
            "  {:<7}never calibrated: latencies of drills cued by {} alone will say \"not measured\"\n", word(source),
            word(source));
        return;
    }
    const std::int64_t days = (unix_now() - newest->measured_unix_seconds) / seconds_a_day;
    std::cout << fmt::format("  {:<7}calibrated {}{}\n", word(source),
                             days == 0   ? "today"
                             : days == 1 ? "yesterday"
                                         : fmt::format("{} days ago", days),
                             days > stale_after_days ? ": do it again (`rigs calibrate`)" : "");
}

void say_what_is_stale(const CommonOptions& options, const Settings& settings) {
    const auto store = open_store(options, settings, StoreMode::read_only);
    const auto calibrations = store ? (*store)->calibrations() : tl::make_unexpected(store.error());
    const std::vector<Calibration> known = calibrations.value_or(std::vector<Calibration>{});
    say_how_old(known, OnsetSource::sound);
    say_how_old(known, OnsetSource::screen);
    if (known.empty()) std::cout << "         (`rigs calibrate` takes five minutes; lamps need none)\n";
}

// What is asked before a new evening, with the store open for writing here.
Expected<std::vector<Athlete>> ask_before(Asker& asker, const EveningOptions& options, const Settings& settings) {
    const auto store = open_store(options.rig.common, settings, StoreMode::inline_writes);
    if (!store) return tl::make_unexpected(store.error());
    std::cout << '\n';
    ask_for_consent(asker, **store);
    IdSource ids{std::nullopt};
    auto here = ask_who_is_here(asker, **store, options.group, ids);
    if (const auto closed = (*store)->close(); !closed) return tl::make_unexpected(closed.error());
    return here;
}

Expected<NightBegins> new_night(Asker& asker, const EveningOptions& options, const Settings& settings,
                                NightStores& stores, const std::vector<Athlete>& here, ClubTonight& club,
                                Welcome& welcome) {
    for (const Athlete& athlete : here) {
        auto one = welcome.attend(athlete);
        if (!one) return tl::make_unexpected(one.error());
        welcome.keep_apart(*one);
        club.add(std::move(*one));
    }
    auto plan = load_evening(options.plan, settings);
    if (!plan) return tl::make_unexpected(plan.error());
    std::vector<Block>* blocks = &plan->blocks;
    if (options.minutes > 0)
        *blocks = scaled_to(std::move(*blocks), Duration(static_cast<std::int64_t>(options.minutes * 60e9)));
    const bool own_drills = std::any_of(blocks->begin(), blocks->end(), [](const Block& block) {
        return block.kind == BlockKind::rounds && block.drill.empty();
    });
    if (own_drills) ask_for_drills(asker, club);
    NightBegins night;
    night.began.blocks = ask_for_plan(asker, std::move(*blocks), club);
    night.began.evening = EveningId{IdSource(std::nullopt).next()};
    night.began.unix_seconds = unix_now();
    night.began.seed = options.rig.common.has_seed ? options.rig.common.seed : IdSource(std::nullopt).next();
    club.seed_sets(night.began.seed);
    for (const Attending& each : club.attending()) night.present.push_back(club.came(each));
    static_cast<void>(stores);
    return night;
}

// Sessions that end before the program are what a cut leaves.
Expected<bool> goes_on_tonight(const EveningOptions& options, const Settings& settings) {
    std::error_code problem;
    if (!std::filesystem::exists(store_path(options.rig.common, settings), problem)) return false;
    const auto store = open_store(options.rig.common, settings, StoreMode::inline_writes);
    if (!store) return tl::make_unexpected(store.error());
    const auto cut = cut_off_tonight(**store);
    if (!cut) return tl::make_unexpected(cut.error());
    if (!*cut) begin_day(**store, true);
    return cut->has_value();
}

Expected<void> store_may_be_written(const CommonOptions& common, const Settings& settings) {
    const auto store = open_store(common, settings, StoreMode::inline_writes);
    if (!store) return tl::make_unexpected(store.error());
    return (*store)->close();
}

// Whether any block is of a drill in which a partner kicks.
bool has_partners(const std::vector<Block>& plan, const std::vector<Drill>& drills) {
    return std::any_of(plan.begin(), plan.end(), [&drills](const Block& block) {
        return std::any_of(drills.begin(), drills.end(), [&block](const Drill& drill) {
            return drill.name == block.drill && drill.partner.source == AttackSource::partner;
        });
    });
}

}  // namespace

int run_evening(const EveningOptions& given) {
    // Keys are read past the lines' reader: it must not read ahead.
    std::setvbuf(stdin, nullptr, _IONBF, 0);
    EveningOptions options = given;
    CommonOptions& common = options.rig.common;
    const auto settings = load_settings(common.settings);
    if (!settings) return complain(settings.error());
    if (const auto may = capture_may_be_made(common); !may) return complain(may.error());
    forget_copies(common, *settings);
    auto listed = list_drills(*settings);
    if (!listed) return complain(listed.error());
    tell_unusable(*listed);
    // A wrong plan is said before anybody is asked anything.
    auto plan = load_evening(options.plan, *settings);
    if (!plan) return complain(plan.error());
    // Before those that are listed: a plan that names a file means that one.
    listed->drills.insert(listed->drills.begin(), std::make_move_iterator(plan->drills.begin()),
                          std::make_move_iterator(plan->drills.end()));
    std::optional<SimulatedRig> rig;
    const bool simulated = options.rig.port == "simulated";
    if (simulated) {
        SimulateRigOptions wanted;
        wanted.seed = common.has_seed ? common.seed : 1;
        wanted.partner = has_partners(plan->blocks, listed->drills);
        auto opened = SimulatedRig::open(wanted);
        if (!opened) return complain(opened.error(), exit_failed);
        rig.emplace(std::move(*opened));
        options.rig.port = rig->path();
    }
    const auto goes_on = goes_on_tonight(options, *settings);
    if (!goes_on) return complain(goes_on.error(), exit_not_kept);
    std::vector<Athlete> here;
    Night night(options, *settings, rig ? &*rig : nullptr);
    Asker asker(options.desk.open ? &night.questions() : nullptr);
    asker.idle = [&night] { night.say_lines(); };
    if (!*goes_on) {
        // Nobody waits for a rig, or is asked anything, where nothing could be kept.
        if (const auto may = store_may_be_written(common, *settings); !may) return complain(may.error(), exit_not_kept);
        if (options.desk.open) night.open_desk();
        asker.wait("Looking for the rig");
        std::cout << settings->club << ". Looking for the rig.\n";
        if (const int code = check_rig(options.rig); code != exit_done) return code;
        say_what_is_stale(common, *settings);
        auto asked = ask_before(asker, options, *settings);
        if (!asked)
            return asked.error().kind == ErrorKind::not_found ? complain(asked.error())
                                                              : complain(asked.error(), exit_not_kept);
        here = std::move(*asked);
        if (here.empty()) {
            std::cout << "\nNobody is here.\n";
            end_tonight(store_path(common, *settings));
            std::cout << "Good night.\n";
            return exit_done;
        }
    }
    if (const auto opened = night.open_stores(); !opened) return complain(opened.error(), exit_not_kept);
    ClubTonight club(*settings, std::move(listed->drills));
    const auto sessions = night.stores().store().sessions();
    if (!sessions) return complain(sessions.error(), exit_not_kept);
    for (const SessionSummary& each : *sessions) club.taken(each.id);
    Welcome welcome(night.stores(), *settings, simulated, !common.capture.empty());
    Expected<NightBegins> begins = NightBegins{};
    if (*goes_on) {
        std::cout << settings->club << ". Tonight's evening goes on where it was cut off.\n";
        const auto cut = cut_off_tonight(night.stores().store());
        if (!cut) return complain(cut.error(), exit_not_kept);
        auto resumed = resume(night.stores(), **cut, club, welcome);
        if (!resumed) return complain(resumed.error(), exit_not_kept);
        begins->began = std::move(resumed->began);
        begins->cut = std::move(resumed->cut);
        begins->cut_at = resumed->at;
        begins->gone = std::move(resumed->gone);
    } else {
        begins = new_night(asker, options, *settings, night.stores(), here, club, welcome);
        if (!begins) return complain(begins.error());
    }
    asker.wait("The evening begins");
    return night.run(std::move(*begins), club, welcome);
}

}  // namespace breakstep
