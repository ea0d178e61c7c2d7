#include "core/progress/rungs.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

#include "core/error.hpp"
#include "core/reading/timeable_index.hpp"

namespace breakstep::progress {
namespace {

bool is_on(const RungStandard& standard, const SessionFact& session) {
    const Level level = session.junior ? standard.junior_level.value_or(standard.level) : standard.level;
    return session.level >= level &&
           std::find(standard.drills.begin(), standard.drills.end(), session.drill) != standard.drills.end();
}

bool is_of(const RungStandard& standard, const RepFact& rep) {
    if (standard.start && *standard.start != rep.start) return false;
    if (rep.kind == AttackKind::feint) return standard.feints;
    if (standard.moment && *standard.moment != rep.moment) return false;
    return standard.kinds.empty() ||
           std::find(standard.kinds.begin(), standard.kinds.end(), rep.kind) != standard.kinds.end();
}

constexpr std::size_t evenings_lately = 3;
// The interval is wide where they are few: of ten held feints all is enough, of fifteen kicks eleven are.
constexpr std::uint64_t fewest_lately = 15, fewest_feints_lately = 8;
/// One-sided 95 % (R 4.2: qnorm(.95)).
constexpr double z_of_95_one_sided = 1.6448536269514722;

bool above(std::uint64_t hits, std::uint64_t of, double mark, std::uint64_t fewest = fewest_lately) {
    return of >= fewest && reading::wilson(hits, of, z_of_95_one_sided).low > mark;
}

bool lies_above(std::uint64_t hits, std::uint64_t of, double mark) {
    // In hundredths, as a mark is printed: 3 of 5 lie at a mark of 6 in 10, whatever a double makes of it.
    return of > 0 && 100 * static_cast<double>(hits) >= std::round(100 * mark) * static_cast<double>(of);
}

}  // namespace

std::string_view word(Done done) {
    switch (done) {
        case Done::room:
            return "in and out";
        case Done::as_asked:
            return "done as asked";
        case Done::on_time:
            break;
    }
    return "on time";
}

bool RungStanding::attacks_unsure() const { return !passed && !attacks_sure && lies_above(on_time, reps, mark); }

bool RungStanding::held_unsure() const {
    return has_feints && !passed && !held_sure && lies_above(held, feints, ladder::held_mark);
}

RungFold::RungFold(std::size_t athletes, std::vector<RungStandard> standards) : standards_(std::move(standards)) {
    std::stable_sort(standards_.begin(), standards_.end(),
                     [](const RungStandard& a, const RungStandard& b) { return a.number < b.number; });
    athletes_.resize(athletes);
}

void RungFold::begin(const SessionFact& session) {
    if (session.athlete >= athletes_.size()) broken_invariant("a session of an athlete out of range");
    session_ = session;
    current_ = &athletes_[session.athlete];
    for (std::size_t i = current_->accounts.size(); i < standards_.size(); ++i) {
        auto rung = ladder::FeintRung::at(standards_[i].mark);
        if (!rung) broken_invariant("a rung's mark out of range");
        current_->accounts.push_back({std::move(*rung), std::nullopt, std::nullopt, 0, {}, 0, 0});
    }
    known_drill_ = !current_->drills.insert(session.drill).second;
}

void RungFold::add(const RepFact& rep) {
    if (current_ == nullptr) broken_invariant("a rep before any session");
    const bool chosen = session_.test || (known_drill_ && (rep.set == 0 || rep.counts));
    if (!chosen || rep.catch_trial) return;
    const bool feint = rep.kind == AttackKind::feint, machine_void = rep.verdict == Verdict::void_rep;
    for (std::size_t i = 0; i < standards_.size(); ++i) {
        if (!is_on(standards_[i], session_) || !is_of(standards_[i], rep)) continue;
        Account& account = current_->accounts[i];
        if (rep.voided_by_coach) ++account.voided_by_coach;
        if (machine_void || (!feint && !rep.scored && !rep.rung_hit)) continue;
        if (account.day && *account.day != session_.day) account.rung.end_evening();
        account.day = session_.day;
        if (account.lately.empty() || account.lately.back().day != session_.day)
            account.lately.push_back({session_.day, 0, 0, 0, 0});
        if (account.lately.size() > evenings_lately) account.lately.pop_front();
        Evening& evening = account.lately.back();
        if (feint) {
            const bool held = rep.verdict == Verdict::held;
            account.rung.add_feint(held);
            ++evening.feints;
            evening.held += held ? 1 : 0;
        } else {
            const bool hit = rep.rung_hit.value_or(rep.verdict == Verdict::on_time || rep.verdict == Verdict::around);
            account.rung.add_attack(hit);
            ++evening.reps;
            evening.on_time += hit ? 1 : 0;
            if (rep.rung_hit) ++(rep.scored ? account.others : account.rooms);
        }
        if (!account.passed_day && is_passed(i, account)) account.passed_day = session_.day;
    }
}

bool RungFold::is_passed(std::size_t standard, const Account& account) const {
    return standards_[standard].feints ? account.rung.passed() : account.rung.attacks().passed();
}

std::vector<RungStanding> RungFold::standings(std::size_t athlete) const {
    if (athlete >= athletes_.size()) broken_invariant("standings of an athlete out of range");
    const Athlete& one = athletes_[athlete];
    std::vector<RungStanding> standings;
    for (std::size_t i = 0; i < standards_.size(); ++i) {
        RungStanding& standing = standings.emplace_back();
        standing.number = standards_[i].number;
        standing.name = standards_[i].name;
        standing.mark = standards_[i].mark;
        standing.has_feints = standards_[i].feints;
        if (i >= one.accounts.size()) continue;
        const Account& account = one.accounts[i];
        const ladder::Rung& attacks = account.rung.attacks();
        standing.on_time = attacks.up().hits();
        standing.reps = attacks.up().reps();
        standing.evenings = attacks.up().evenings();
        if (account.rooms + account.others > 0)
            standing.done = account.rooms == standing.reps ? Done::room : Done::as_asked;
        standing.attacks_sure = attacks.passed();
        standing.held_sure = account.rung.feints().ever_had_enough();
        standing.held = account.rung.feints().hits();
        standing.feints = account.rung.feints().reps();
        standing.voided_by_coach = account.voided_by_coach;
        standing.wealth = attacks.up().wealth();
        standing.step_down_wealth = attacks.down().wealth();
        standing.held_wealth = account.rung.feints().wealth();
        for (const Evening& evening : account.lately) {
            standing.lately_on_time += evening.on_time;
            standing.lately_reps += evening.reps;
            standing.lately_held += evening.held;
            standing.lately_feints += evening.feints;
        }
        standing.meets_lately = account.lately.size() == evenings_lately &&
                                above(standing.lately_on_time, standing.lately_reps, standing.mark) &&
                                (!standing.has_feints || above(standing.lately_held, standing.lately_feints,
                                                               ladder::held_mark, fewest_feints_lately));
        standing.passed = is_passed(i, account);
        standing.passed_day = account.passed_day;
        // Offered as long as it is so; a rung once passed stays passed.
        standing.step_down = !standing.passed && attacks.step_down_at() && attacks.down().has_enough();
    }
    // Whoever has passed a rung needs no lower one.
    bool above = false;
    for (auto standing = standings.rbegin(); standing != standings.rend(); ++standing) {
        if (above) standing->step_down = false;
        above = above || standing->passed;
    }
    return standings;
}

}  // namespace breakstep::progress
