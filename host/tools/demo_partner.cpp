#include "tools/demo_partner.hpp"

#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include <iostream>
#include <string>
#include <vector>

#include "cli/session_setup.hpp"
#include "hall/drivers/fast_driver.hpp"
#include "places.hpp"
#include "settings/drill_file.hpp"
#include "store/memory_journal.hpp"
#include "tools/demo_bouts.hpp"
#include "tools/partner_audit.hpp"

namespace breakstep {
namespace {

using Json = nlohmann::ordered_json;

constexpr HostTime virtual_begin{Duration{1'000'000'000}};
constexpr std::uint64_t demo_seed = 11;
constexpr Duration longest_session = 7200s;
constexpr std::int32_t pairs_at_most = 60;

struct Pair {
    const char* athlete;
    const char* partner;
    Level level;
};
constexpr Pair pairs[] = {{"Heron", "Curlew", Level::intermediate},
                          {"Lapwing", "Dunlin", Level::beginner},
                          {"Curlew", "Heron", Level::advanced},
                          {"Dunlin", "Lapwing", Level::intermediate}};

struct Played {
    Json reps = Json::array();
    std::vector<std::string> athletes, partners;  ///< by session
    PartnerFigures figures;
    std::uint64_t rescored_otherwise = 0;
};

Json truth_json(const std::optional<LegTruth>& truth) {
    Json phases = Json::array();
    if (!truth) return phases;
    for (const LegTruth::Border& border : truth->borders) {
        Json phase;
        phase["phase"] = word(border.phase);
        phase["start_ms"] = static_cast<double>((border.at - truth->toe_off).count()) / 1e6;
        phases.push_back(std::move(phase));
    }
    return phases;
}

class DemoPartner {
  public:
    DemoPartner(const Settings& settings, std::uint64_t seed, Journal& journal, Store* store)
        : settings_(settings),
          seed_(seed),
          ids_(seed),
          store_(store),
          target_(for_a_partner(simulated_target_settings(seed)), virtual_begin),
          cues_(nullptr, virtual_begin),
          driver_(engine_settings(settings, seed), target_, journal, cues_, nullptr, virtual_begin) {
        driver_.core().on_records = [this](SessionId, std::span<const JournalRecord> records) {
            records_.insert(records_.end(), records.begin(), records.end());
        };
    }

    [[nodiscard]] Expected<Played> play(std::int32_t contacts);

  private:
    [[nodiscard]] Expected<Athlete> person(const char* call_sign);
    [[nodiscard]] Expected<void> play(const Pair& pair, std::int32_t index, Played& played);

    const Settings& settings_;
    const std::uint64_t seed_;
    IdSource ids_;
    Store* store_;
    SimulatedTarget target_;
    VirtualCues cues_;
    FastDriver driver_;
    std::vector<JournalRecord> records_;
};

Expected<Athlete> DemoPartner::person(const char* call_sign) {
    const auto profile = find_athlete(call_sign);
    const Side lead = profile ? profile->lead : Side::right;
    if (store_ != nullptr) return athlete_in(*store_, call_sign, lead, ids_);
    Athlete athlete;
    athlete.id = AthleteId{ids_.next()};
    athlete.call_sign = call_sign;
    athlete.lead = lead;
    return athlete;
}

Expected<void> DemoPartner::play(const Pair& pair, std::int32_t index, Played& played) {
    auto drill = load_drill("partner-kicks", settings_);
    if (!drill) return tl::make_unexpected(drill.error());
    drill->sets = 4;
    drill->reps = 20;
    drill->rest = 10s;
    drill->level = pair.level;
    drill->opponent = settings_.opponent(pair.level);
    const auto athlete = person(pair.athlete), partner = person(pair.partner);
    if (!athlete) return tl::make_unexpected(athlete.error());
    if (!partner) return tl::make_unexpected(partner.error());
    const std::uint64_t seed = seed_ + static_cast<std::uint64_t>(index);
    PlannedSession planned = plan_session(*drill, settings_, *athlete, seed, ids_);
    if (store_ != nullptr)
        while (store_->find_session(id_text(planned.began.session))) planned.began.session = SessionId{ids_.next()};
    planned.began.participants = {{ParticipantRole::athlete, athlete->id, athlete->lead},
                                  {ParticipantRole::partner, partner->id, partner->lead}};
    driver_.pass(5s);
    PartnerSettings leg;
    leg.seed = seed;
    leg.lengths = drill->opponent;
    target_.set_partner(driver_.now(), leg);
    target_.set_athlete(driver_.now(), *planned.simulated);
    std::vector<RigTruth> truths;
    target_.rig().take_truths(truths);
    truths.clear();
    records_.clear();
    const auto how = driver_.run(planned.began, planned.names, longest_session);
    if (!how) return tl::make_unexpected(how.error());
    target_.rig().take_truths(truths);

    const Score& score = *driver_.core().engine().score();
    Score again;
    std::vector<ScoreResult> ignored;
    for (const JournalRecord& record : records_) again.fold(record, ignored);
    if (!(again.reps() == score.reps()) || !(again.totals() == score.totals())) ++played.rescored_otherwise;

    PartnerAudit audit(truths, *target_.partner());
    const auto audited = audit.session(records_, score.reps());
    audit.add_to(played.figures, audited);
    const Json listed = Json::parse(sessions_json({results_of(planned, score, *how)}));
    const Json& reps = listed["sessions"][0]["reps"];
    for (std::size_t i = 0; i < audited.size(); ++i) {
        Json rep;
        rep["athlete"] = pair.athlete;
        rep["partner"] = pair.partner;
        rep.update(reps[i]);
        rep["truth_kind"] = audited[i].truth ? Json(word(audited[i].truth->came)) : Json(nullptr);
        rep["truth_phases"] = truth_json(audited[i].truth);
        rep["truth_contact_ms"] =
            audited[i].contact ? Json(static_cast<double>(audited[i].contact->count()) / 1e6) : Json(nullptr);
        played.reps.push_back(std::move(rep));
    }
    return {};
}

Expected<Played> DemoPartner::play(std::int32_t contacts) {
    Played played;
    for (std::int32_t i = 0; i < pairs_at_most; ++i) {
        if (played.figures.contacts >= static_cast<std::uint64_t>(contacts)) break;
        const auto done = play(pairs[static_cast<std::size_t>(i) % std::size(pairs)], i, played);
        if (!done) return tl::make_unexpected(done.error());
    }
    return played;
}

double share(std::uint64_t part, std::uint64_t whole) {
    return whole == 0 ? 1 : static_cast<double>(part) / static_cast<double>(whole);
}

Json json_of(const Played& played, std::uint64_t seed) {
    const PartnerFigures& figures = played.figures;
    Json json;
    json["seed"] = seed;
    json["contacts"] = figures.contacts;
    json["contacts_near_a_border"] = figures.contacts_near;
    json["right_phase"] = share(figures.right_phase, figures.contacts);
    json["borders"] = figures.borders;
    json["borders_inside"] = share(figures.borders_inside, figures.borders);
    json["worst_border_us"] = figures.worst_border_us;
    json["kinds"] = figures.kinds;
    json["kinds_right"] = figures.kinds_right;
    json["second_lifts"] = figures.second_lifts;
    json["second_lifts_as_drop"] = figures.second_lifts_as_drop;
    json["bounces"] = figures.bounces;
    json["bounces_as_lift"] = figures.bounces_as_lift;
    json["asked"] = figures.asked;
    json["obeyed"] = figures.obeyed;
    json["voids"] = figures.voids;
    json["rescored_otherwise"] = played.rescored_otherwise;
    json["reps"] = played.reps;
    return json;
}

void print(const Played& played) {
    const PartnerFigures& figures = played.figures;
    std::cout << fmt::format(
        "{} reps, {} with a leg; {} of {} did what was asked; {} void\n"
        "contacts away from borders: {}, {:.2f} % in the phase they truly fell in\n"
        "borders: {}, {:.2f} % within what is stated, the worst {:.0f} us off\n"
        "second lifts {}, told as a drop {}; bounces {}, told as a lift {}\n",
        figures.reps, figures.kicked, figures.obeyed, figures.asked, figures.voids, figures.contacts,
        100 * share(figures.right_phase, figures.contacts), figures.borders,
        100 * share(figures.borders_inside, figures.borders), figures.worst_border_us, figures.second_lifts,
        figures.second_lifts_as_drop, figures.bounces, figures.bounces_as_lift);
}

}  // namespace

int run_demo_partner(const CommonOptions& options, const PartnerDemo& demo) {
    if (demo.bouts > 0) return run_demo_bouts(options, demo.bouts);
    const auto settings = load_settings(options.settings);
    if (!settings) return complain(settings.error());
    if (!options.fast) std::cerr << "the pairs are played at full speed: nobody has the hours\n";
    const std::uint64_t seed = options.has_seed ? options.seed : demo_seed;
    std::unique_ptr<Store> store;
    if (options.store) {
        auto opened = open_store(options, *settings, StoreMode::inline_writes);
        if (!opened) return complain(opened.error(), exit_not_kept);
        store = std::move(*opened);
    }
    MemoryJournal memory;
    Journal& journal = store ? static_cast<Journal&>(*store) : memory;
    DemoPartner played_by(*settings, seed, journal, store.get());
    const auto played = played_by.play(demo.contacts);
    if (!played) return complain(played.error());
    if (store)
        if (const auto closed = store->close(); !closed) return complain(closed.error(), exit_not_kept);
    if (options.json)
        std::cout << json_of(*played, seed).dump() << '\n';
    else
        print(*played);
    const PartnerFigures& figures = played->figures;
    const bool right = share(figures.right_phase, figures.contacts) >= 0.999 &&
                       share(figures.borders_inside, figures.borders) >= 0.99 && figures.second_lifts_as_drop == 0 &&
                       figures.bounces_as_lift == 0 && played->rescored_otherwise == 0;
    return right ? exit_done : exit_failed;
}

}  // namespace breakstep
