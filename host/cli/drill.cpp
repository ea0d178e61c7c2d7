#include <fmt/format.h>

#include <iostream>

#include "cli/consent/copies_gone.hpp"
#include "cli/consent/tonight_store.hpp"
#include "cli/listed_json.hpp"
#include "cli/session_setup.hpp"
#include "club/consent/consent_words.hpp"
#include "club/term/known_prior.hpp"
#include "club/term/last_level.hpp"
#include "core/error.hpp"
#include "settings/drill_file.hpp"
#include "store/call_sign.hpp"

namespace breakstep {
namespace {

// A simulated athlete is nobody: that counts as a yes, unless the store says otherwise of the call-sign.
bool is_kept(const Athlete& athlete, bool simulated) {
    const std::string today = today_here();
    return may_keep(athlete, today) || (simulated && consent_state(athlete, today) == ConsentState::not_asked);
}

// From here on the evening's own file stands in the store's place. Fails where a capture was asked for: it would stay.
Expected<std::unique_ptr<Store>> into_tonight(std::unique_ptr<Store> store, const Athlete& athlete,
                                              CommonOptions& options) {
    const std::string today = today_here();
    if (!options.capture.empty())
        return failure(ErrorKind::bad_input, "a capture would stay, and " + why_not_kept(athlete, today),
                       "leave --capture away, or " + how_to_renew(athlete, today));
    std::cerr << shown_text(why_not_kept(athlete, today))
              << ": these results are for this evening only, and no page is "
              << "made of them; " << shown_text(how_to_renew(athlete, today)) << '\n';
    auto tonight = open_tonight(*store, athlete);
    if (!tonight) return tonight;
    options.store = (*tonight)->path().string();
    options.tonight = true;
    begin_day(**tonight, false);
    return tonight;
}

// Whoever kicks takes part, with a consent of their own: without it nobody's name stands beside what the leg did.
Expected<void> set_partner(const DrillOptions& given, const Drill& drill, Store& store, bool simulated,
                           std::uint64_t seed, IdSource& ids, PlannedSession& planned) {
    const bool with_partner = drill.partner.source == AttackSource::partner;
    if (!with_partner && !given.partner.empty())
        return failure(ErrorKind::bad_input, "the drill " + drill.name + " has no partner",
                       "leave --partner away, or take a drill with source = \"partner\"");
    if (!with_partner) return {};
    if (simulated) {
        planned.simulated_partner = PartnerSettings::for_drill(drill, seed);
    }
    planned.began.participants = {{ParticipantRole::athlete, planned.began.athlete, planned.began.athlete_lead}};
    const std::string call_sign = given.partner.empty() ? (simulated ? "Curlew" : "") : given.partner;
    Participant partner{ParticipantRole::partner, AthleteId{}, Side::right};
    if (!call_sign.empty()) {
        if (call_sign_key(call_sign) == call_sign_key(planned.names.athlete))
            return failure(ErrorKind::bad_input, call_sign + " can't be athlete and partner at once",
                           "name the one who kicks after --partner and the one who answers after --athlete");
        const auto profile = find_athlete(call_sign);
        const auto known = athlete_in(store, call_sign, profile ? profile->lead : Side::right, ids);
        if (!known) return tl::make_unexpected(known.error());
        planned.partner = planned.names.partner = known->call_sign;
        partner.lead = known->lead;
        if (is_kept(*known, simulated))
            partner.athlete = known->id;
        else
            std::cerr << shown_text(why_not_kept(*known, today_here()))
                      << ": what this partner's leg does is kept under nobody's name; "
                      << shown_text(how_to_renew(*known, today_here())) << '\n';
    }
    planned.began.participants.push_back(partner);
    return {};
}

}  // namespace

int run_drill(const DrillOptions& given) {
    CommonOptions options = given.common;
    const auto settings = load_settings(options.settings);
    if (!settings) return complain(settings.error());
    forget_copies(options, *settings);
    auto drill = load_drill(given.drill, *settings);
    if (!drill) return complain(drill.error());
    if (const auto may = capture_may_be_made(options); !may) return complain(may.error());
    const bool simulated = given.rig == "simulated";
    if (options.fast && !simulated)
        return complain({ErrorKind::bad_input, "--fast needs a simulated rig", "add --rig simulated"});
    const std::string call_sign = given.athlete.empty() ? (simulated ? "Heron" : "guest") : given.athlete;
    const auto profile = find_athlete(call_sign);
    if (simulated && !profile) {
        std::string known;
        for (const AthleteProfile& each : demo_club())
            known += (known.empty() ? "" : ", ") + std::string(each.call_sign);
        return complain({ErrorKind::not_found, "there is no simulated athlete \"" + call_sign + "\"",
                         "take one of these: " + known});
    }
    IdSource ids(options.fast && options.has_seed ? std::optional(options.seed) : std::nullopt);
    const std::uint64_t seed = options.has_seed ? options.seed : ids.next();

    if (drill->start == StartKind::tapped && !options.fast)
        std::cerr << "space in the window: the attack comes now\n";
    if (options.fast && drill->start == StartKind::tapped)
        return complain({ErrorKind::bad_input,
                         "in the drill " + drill->name + " a coach taps each attack, and with --fast nobody does",
                         "run it without --fast"});
    auto store = open_store(options, *settings, StoreMode::inline_writes);
    if (!store) return complain_of_store(store.error());
    begin_day(**store, !options.fast);
    const auto athlete = athlete_in(**store, call_sign, profile ? profile->lead : Side::right, ids);
    if (!athlete) return complain(athlete.error(), exit_not_kept);
    drill = for_age(*athlete, *drill, is_shipped(given.drill));
    warn_if_too_much(*athlete, *drill);
    if (!is_kept(*athlete, simulated)) {
        store = into_tonight(std::move(*store), *athlete, options);
        if (!store)
            return store.error().kind == ErrorKind::bad_input ? complain(store.error())
                                                              : complain(store.error(), exit_not_kept);
    }
    PlannedSession planned = plan_session(*drill, *settings, *athlete, seed, ids);
    while ((*store)->find_session(id_text(planned.began.session))) planned.began.session = SessionId{ids.next()};
    if (!simulated) planned.simulated.reset();
    planned.names.kept = !options.tonight;
    if (const auto set = set_partner(given, *drill, **store, simulated, seed, ids, planned); !set)
        return complain(set.error(), set.error().kind == ErrorKind::bad_input ? exit_bad_input : exit_not_kept);
    const auto last = last_times(**store, athlete->id);
    if (!last) return complain(last.error(), exit_not_kept);
    recall(*last, drill->name, planned.names);
    const auto prior = known_prior(**store, athlete->id);
    if (!prior) return complain(prior.error(), exit_not_kept);
    planned.began.prior = *prior;
    const auto levels = last_levels(**store, athlete->id);
    if (!levels) return complain(levels.error(), exit_not_kept);
    begin_at(*levels, planned.began);

    if (options.fast) {
        note_capture(**store, options);
        const auto results = run_fast({planned}, options, *settings, seed, **store);
        if (!results && (*store)->failure()) return complain(results.error(), exit_not_kept);
        if (!results) return complain(results.error());
        if (auto closed = (*store)->close(); !closed) return complain(closed.error(), exit_not_kept);
        print_results(*results, options.json);
        return exit_done;
    }
    store->reset();
    const LiveRun run = run_live({planned}, options, *settings, seed, given.rig);
    if (!run.results) return complain(run.results.error(), run.code);
    print_live_results(*run.results, options.json);
    const std::optional<SessionEnd> how = run.results->empty() ? SessionEnd::rig_gone : run.results->front().how;
    if (how == SessionEnd::rig_gone)
        return complain({ErrorKind::device, "the rig was away for too long, and the session was ended",
                         "what was recorded is kept; look at the rig's cable and supply, then run the drill again"},
                        exit_no_rig);
    if (how == SessionEnd::no_partner_gates)
        return complain(
            {ErrorKind::device, "the rig has no low and hip gate that work, which a partner's drill reads",
             "set the rig's switch to partner, look at both gates' plugs and beams, then run the drill again"},
            exit_no_rig);
    if (how == SessionEnd::no_edge_gates)
        return complain(
            {ErrorKind::device,
             "the rig has no partner's back mark, or no near mark: nothing would tell whether the partner was "
             "led to the edge, and from where",
             "stand a gate across the back of the partner's box, plug it into the partner's back mark, clear "
             "its beam, look at both with `rigs check`, then run the drill again; free-exchange needs neither"},
            exit_no_rig);
    if (how == SessionEnd::cannot_cue && drill->partner.source == AttackSource::partner)
        return complain({ErrorKind::device, "nothing can tell the partner when to kick",
                         "give the rig a lamp that only the partner sees, or take a drill with start = \"free\""},
                        exit_no_rig);
    if (how == SessionEnd::cannot_cue)
        return complain({ErrorKind::device, "nothing can show an attack: neither lamps nor sound nor screen",
                         "look at the rig's lamps, or run it with a loudspeaker or a window (without --headless)"},
                        exit_no_rig);
    return exit_done;
}

void tell_unusable(const DrillList& list) {
    for (const Error& error : list.unusable) std::cerr << "left out: " << error.text() << '\n';
}

int list_drills(const CommonOptions& options) {
    const auto settings = load_settings(options.settings);
    if (!settings) return complain(settings.error());
    const auto drills = list_drills(*settings);
    if (!drills) return complain(drills.error());
    tell_unusable(*drills);
    if (options.json) {
        std::cout << drills_json(drills->drills);
        return exit_done;
    }
    for (const Drill& drill : drills->drills)
        std::cout << fmt::format("{:<26}{:<14}{:<9}{:>2} x {:<4}{}\n", drill.name, word(drill.level),
                                 drill.test ? "test" : word(drill.start), drill.sets, drill.reps, drill.title);
    return exit_done;
}

}  // namespace breakstep
