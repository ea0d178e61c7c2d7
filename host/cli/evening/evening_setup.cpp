#include "cli/evening/evening_setup.hpp"

#include <algorithm>
#include <filesystem>
#include <iostream>

#include "club/athletes/naming.hpp"
#include "club/consent/consent_words.hpp"
#include "club/consent/tonight.hpp"
#include "club/term/known_prior.hpp"
#include "club/term/term.hpp"
#include "core/error.hpp"
#include "devices/serial/serial_port.hpp"
#include "settings/next_file.hpp"
#include "store/tonight.hpp"

namespace breakstep {

using namespace evening;

// ---- stores ---------------------------------------------------------------------------------------------------------

Expected<std::unique_ptr<NightStores>> NightStores::open(const CommonOptions& options, const Settings& settings,
                                                         std::function<void()> on_committed) {
    auto night = std::make_unique<NightStores>();
    night->on_committed_ = std::move(on_committed);
    auto store = open_store(options, settings, StoreMode::own_thread, night->on_committed_);
    if (!store) return tl::make_unexpected(store.error());
    night->store_ = std::move(*store);
    night->journal_ = std::make_unique<EveningStores>(*night->store_);
    return night;
}

Expected<Store*> NightStores::tonight() {
    if (tonight_) return tonight_.get();
    StoreOptions wanted;
    wanted.on_committed = on_committed_;
    auto opened = open_tonight(*store_, std::move(wanted));
    if (!opened) return tl::make_unexpected(opened.error());
    tonight_ = std::move(*opened);
    return tonight_.get();
}

Expected<Store*> NightStores::tonight_if_there() {
    if (!tonight_ && !last_recorded(tonight_path(store_->path()))) return nullptr;
    return tonight();
}

Expected<void> NightStores::close() {
    if (tonight_)
        if (auto closed = tonight_->close(); !closed) return closed;
    return store_->close();
}

// ---- who comes ------------------------------------------------------------------------------------------------------

// What comes next for everybody, read once.
Expected<void> Welcome::choose_drill(const Athlete& athlete, Attending& one) {
    if (!term_read_) {
        term_read_ = true;
        const auto rules = load_next(settings_);
        if (!rules) return tl::make_unexpected(rules.error());
        TermOptions options = term_options(settings_);
        options.rungs = rules->rungs;
        options.today = today_here();
        const auto term = load_term(stores_.store(), options);
        if (!term) return tl::make_unexpected(term.error());
        for (const progress::AthleteTerm& each : term->terms)
            if (const auto next = progress::next_drill(each, rules->rules))
                next_[term->athlete(each).id] = {next->drill, next->without_counts};
        rules_ = rules->rules;
    }
    Next next;
    if (const auto found = next_.find(athlete.id); found != next_.end()) {
        next = found->second;
    } else {
        // Whoever comes for the first time may be no beginner: the coach's word on the rung holds here too.
        progress::AthleteTerm newcomer;
        newcomer.junior = is_child(athlete);
        newcomer.age = least_age(athlete);
        newcomer.placed = placed_by_hand(athlete);
        if (const auto first = progress::next_drill(newcomer, rules_)) next = {first->drill, first->without_counts};
    }
    one.drill = next.drill;
    one.because = next.because;
    return {};
}

Expected<Attending> Welcome::attend(const Athlete& athlete) {
    Attending one;
    one.athlete = athlete;
    if (auto chosen = choose_drill(athlete, one); !chosen) return tl::make_unexpected(chosen.error());
    const std::string today = today_here();
    const bool nobody = simulated_ && consent_state(athlete, today) == ConsentState::not_asked &&
                        find_athlete(athlete.call_sign).has_value();
    one.kept = may_keep(athlete, today) || nobody;
    if (!one.kept) {
        if (captured_)
            return failure(ErrorKind::bad_input, "a capture would stay, and " + why_not_kept(athlete, today),
                           "leave --capture away, or " + how_to_renew(athlete, today));
        const auto tonight = stores_.tonight();
        if (!tonight) return tl::make_unexpected(tonight.error());
        auto here = under_tonights_id(**tonight, athlete, AthleteId{IdSource(std::nullopt).next()});
        if (!here) return tl::make_unexpected(here.error());
        one.athlete = std::move(*here);
        std::cerr << shown_text(why_not_kept(athlete, today))
                  << ": these results are for this evening only, and no page is made of them; "
                  << shown_text(how_to_renew(athlete, today)) << '\n';
    }
    auto prior = known_prior(one.kept ? stores_.store() : **stores_.tonight(), one.athlete.id);
    if (!prior) return tl::make_unexpected(prior.error());
    one.prior = std::move(*prior);
    auto levels = last_levels(one.kept ? stores_.store() : **stores_.tonight(), one.athlete.id);
    if (!levels) return tl::make_unexpected(levels.error());
    one.levels = std::move(*levels);
    auto last = last_times(one.kept ? stores_.store() : **stores_.tonight(), one.athlete.id);
    if (!last) return tl::make_unexpected(last.error());
    one.last = std::move(*last);
    return one;
}

void Welcome::keep_apart(const Attending& one) {
    if (one.kept) return;
    if (const auto tonight = stores_.tonight()) stores_.journal().keep_apart(one.athlete.id, **tonight);
}

// ---- after a cut ----------------------------------------------------------------------------------------------------

Expected<std::optional<EveningSummary>> cut_off_tonight(const Store& store) {
    auto last = store.last_evening();
    if (!last || !*last) return last;
    if ((*last)->ended) return std::nullopt;
    if (evening_of((*last)->began_unix_seconds) == evening_of(unix_now())) return last;
    std::cout << "The evening of " << day_text(evening_of((*last)->began_unix_seconds))
              << " was cut off and is past: what was made in it is kept, and this is a new one.\n";
    return std::nullopt;
}

Expected<Resumed> resume(NightStores& stores, const EveningSummary& summary, ClubTonight& club, Welcome& welcome) {
    State state;
    const auto read = stores.store().read_evening(
        summary.id, [&](const EveningRecord& record) { fold(state, record.event, record.at); });
    if (!read) return tl::make_unexpected(read.error());
    auto athletes = stores.store().athletes();
    if (!athletes) return tl::make_unexpected(athletes.error());
    const auto tonight = stores.tonight_if_there();
    if (!tonight) return tl::make_unexpected(tonight.error());
    Resumed resumed;
    std::vector<Athlete> apart;
    if (*tonight != nullptr) {
        auto there = (*tonight)->athletes();
        if (!there) return tl::make_unexpected(there.error());
        apart = std::move(*there);
    }
    const auto by_id = [](const std::vector<Athlete>& all, AthleteId id) {
        return std::find_if(all.begin(), all.end(), [id](const Athlete& each) { return each.id == id; });
    };
    for (const Person& person : state.people) {
        Attending one;
        const auto kept = by_id(*athletes, person.athlete);
        const auto only_tonight = by_id(apart, person.athlete);
        if (kept == athletes->end() && only_tonight == apart.end()) continue;
        one.kept = kept != athletes->end();
        one.athlete = one.kept ? *kept : *only_tonight;
        // Said since the cut: what is made from now on may not be kept, and the session that stands aside is in the
        // store that keeps. Who is said to arrive again trains on, for this evening only.
        const std::string today = today_here();
        const bool asked = one.kept && consent_state(*kept, today) != ConsentState::not_asked;
        if (asked && !may_keep(*kept, today)) {
            if (person.here) {
                resumed.gone.push_back(person.athlete);
                std::cerr << shown_text(why_not_kept(*kept, today))
                          << ": the turns are over; key a takes them on again, for this evening only\n";
            }
        }
        one.drill = person.drill;
        auto prior = known_prior(one.kept ? stores.store() : **tonight, one.athlete.id);
        if (!prior) return tl::make_unexpected(prior.error());
        one.prior = std::move(*prior);
        auto levels = last_levels(one.kept ? stores.store() : **tonight, one.athlete.id);
        if (!levels) return tl::make_unexpected(levels.error());
        one.levels = std::move(*levels);
        auto last = last_times(one.kept ? stores.store() : **tonight, one.athlete.id);
        if (!last) return tl::make_unexpected(last.error());
        one.last = std::move(*last);
        welcome.keep_apart(one);
        club.stands_at(person.height_order, one.athlete.height_band);
        club.add(std::move(one));
    }
    resumed.began = state.began;
    resumed.began.unix_seconds = unix_now();
    resumed.at = std::chrono::seconds(std::max<std::int64_t>(0, unix_now() - state.began.unix_seconds));
    const auto lead = [&club](AthleteId id) {
        const Attending* one = club.find(id);
        return one == nullptr ? Side::right : one->athlete.lead;
    };
    auto cut = read_cut_evening(stores.journal(),
                                {summary.id, resumed.at, host_now(), [&club] { return club.fresh_session(); }, lead});
    if (!cut) return tl::make_unexpected(cut.error());
    resumed.cut = std::move(*cut);
    return resumed;
}

}  // namespace breakstep
