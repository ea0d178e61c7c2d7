#include "core/progress/athlete_tally.hpp"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <iterator>
#include <span>
#include <utility>

namespace breakstep::progress {
namespace {

constexpr std::size_t compared_evenings = 3;
constexpr std::uint64_t warm_up_reps = 5;
constexpr std::size_t fewest_for_halves = 6;
constexpr std::int32_t days_off_from = 14;
constexpr std::int32_t recent_days = 28;

/// Variable error: the scatter about the mean, in its population form (Schmidt & Lee).
std::optional<double> variable_error(std::span<const double> errors) {
    if (errors.size() < fewest_for_median) return std::nullopt;
    const auto n = static_cast<double>(errors.size());
    return *standard_deviation(errors) * std::sqrt((n - 1) / n);
}

/// Of a rate: (hits + 1) / (of + 2) stands for it, so that an evening without a miss is not free of error.
double sampling_variance(const Share& share) {
    const double of = static_cast<double>(share.of), p = (static_cast<double>(share.hits) + 1) / (of + 2);
    return p * (1 - p) / of;
}

/// Fills what follows from the values.
void follow(Followed& followed, bool end_of_term) {
    const Better better = followed.better.value_or(Better::higher);
    followed.claim =
        end_of_term ? claim_at_end_of_term(followed.values, better) : claim_this_week(followed.values, better);
    followed.baseline_and_now = baseline_and_now(followed.values);
    std::vector<double> days, values;
    for (const EveningValue& evening : followed.values) {
        days.push_back(evening.day);
        values.push_back(evening.value);
    }
    followed.theil_sen = theil_sen(days, values);
    followed.mann_kendall = mann_kendall(days, values);
}

}  // namespace

void AthleteTally::begin(const SessionFact& session) {
    end_set();
    session_ = session;
    const auto [place, first] = evenings_.try_emplace(session.day);
    if (first) scored_this_evening_ = 0;
    evening_ = &place->second;
    evening_->drills.insert(session.drill);
    ++so_far_.sessions;
    last_level_ = session.level;
    if (!session.test) training_level_ = session.level;
    if (session.hits) {
        if (!evening_->hits) evening_->hits.emplace();
        *evening_->hits += *session.hits;
    }
    if (session.wealth) tell_.drill_ended(*session.wealth);
}

void AthleteTally::add(const RepFact& rep) {
    if (rep.set != set_) {
        end_set();
        set_ = rep.set;
    }
    ++so_far_.reps;
    if (rep.verdict == Verdict::void_rep) {
        ++so_far_.voids;
        return;
    }
    if (rep.catch_trial) return;
    const bool feint = rep.kind == AttackKind::feint;
    // Where no strike is asked for none is missed.
    const Situation situation{rep.kind, rep.moment, rep.counter, session_.stance, rep.start, rep.moments};
    if (rep.scored || feint) ++evening_->situations[situation][static_cast<std::size_t>(rep.verdict)];
    auto& total = so_far_.answer_count_total;
    if (feint)
        ++total.feints;
    else if (rep.scored)
        ++total.attacks;
    if (rep.contacted && feint)
        ++total.feints_answered;
    else if (rep.contacted && rep.scored)
        ++total.attacks_answered;
    const bool hit = rep.verdict == Verdict::on_time || rep.verdict == Verdict::around;
    if (rep.scored) count_scored(rep, hit);
    if (rep.scored) gains_.add(session_, rep, hit);
    if (feint) return;
    count_answers(rep, hit);
    retreats_in_a_row_ = rep.contacted ? 0 : rep.retreated ? retreats_in_a_row_ + 1 : retreats_in_a_row_;
}

void AthleteTally::count_scored(const RepFact& rep, bool hit) {
    ++so_far_.scored;
    CellEvening& cell = cells_[{rep.moment, rep.counter, session_.stance, session_.test, rep.moments}][session_.day];
    cell.on_time.count(hit);
    cell.clashes += rep.verdict == Verdict::clash ? 1 : 0;
    if (rep.latency_ms) cell.latencies_ms.push_back(*rep.latency_ms);
    // A strike in the wait is timed by nothing.
    if (rep.error_ms && !rep.struck_in_wait) cell.errors_ms.push_back(*rep.error_ms);
    evening_->on_time.count(hit);
    (scored_this_evening_ < warm_up_reps ? so_far_.first_reps : so_far_.later_reps).count(hit);
    ++scored_this_evening_;
    set_hits_.push_back(hit);
}

void AthleteTally::count_answers(const RepFact& rep, bool hit) {
    if (!rep.scored) return;
    const auto count = [&](Answer answer) { so_far_.answers[static_cast<std::size_t>(answer)].count(hit); };
    if (rep.kind == AttackKind::carry && rep.counter == Counter::spin)
        count(Answer::going_around);
    else if (rep.moments != 0 && rep.moments != moment_bit(rep.moment)) {
        // Of either nobody knows which was meant.
        if (rep.moments == (moment_bit(Moment::drop) | moment_bit(Moment::gap))) count(Answer::drop_or_gap);
    } else if (rep.moment == Moment::lift)
        count(Answer::meeting_the_lift);
    else
        count(rep.moment == Moment::gap ? Answer::the_gap : Answer::the_drop);
    if (rep.contacted) count(retreats_in_a_row_ > 0 ? Answer::after_giving_ground : Answer::at_once);
    if (rep.start == StartKind::drawn) count(Answer::leading);
}

// Halves of a set, its middle rep left out where the number is odd.
void AthleteTally::end_set() {
    const std::size_t n = set_hits_.size();
    if (n >= fewest_for_halves) {
        for (std::size_t i = 0; i < n / 2; ++i) {
            so_far_.first_halves.count(set_hits_[i]);
            so_far_.second_halves.count(set_hits_[n - 1 - i]);
        }
    }
    set_hits_.clear();
    set_ = -1;
    retreats_in_a_row_ = 0;
}

std::int32_t AthleteTally::last_day() const {
    std::int32_t last = evenings_.empty() ? INT32_MIN : std::prev(evenings_.end())->first;
    for (const auto& [name, values] : measures_) last = std::max(last, std::prev(values.end())->first);
    return last;
}

CellFigures AthleteTally::figures(CellEvenings::const_iterator from, CellEvenings::const_iterator to) {
    CellFigures figures;
    std::vector<double> latencies, errors;
    for (; from != to; ++from) {
        const CellEvening& evening = from->second;
        figures.on_time += evening.on_time;
        figures.clashes += evening.clashes;
        latencies.insert(latencies.end(), evening.latencies_ms.begin(), evening.latencies_ms.end());
        errors.insert(errors.end(), evening.errors_ms.begin(), evening.errors_ms.end());
    }
    figures.contacts = latencies.size();
    figures.steadiness_ms = variable_error(errors);
    if (latencies.size() >= fewest_for_median) figures.latency_ms = median(std::move(latencies));
    return figures;
}

std::vector<CellTerm> AthleteTally::cells() const {
    std::vector<CellTerm> cells;
    for (const auto& [cell, evenings] : cells_) {
        CellTerm& term = cells.emplace_back();
        term.cell = cell;
        term.all = figures(evenings.begin(), evenings.end());
        if (evenings.size() >= 2 * compared_evenings) {
            term.baseline = figures(evenings.begin(), std::next(evenings.begin(), compared_evenings));
            term.now = figures(std::prev(evenings.end(), compared_evenings), evenings.end());
        }
        for (const auto& [day, evening] : evenings) term.evenings.push_back({day, evening.on_time});
    }
    std::stable_sort(cells.begin(), cells.end(), [](const CellTerm& a, const CellTerm& b) {
        return std::pair(!a.cell.test, b.all.on_time.of) < std::pair(!b.cell.test, a.all.on_time.of);
    });
    return cells;
}

std::optional<Cell> AthleteTally::claimed_cell(const ClaimedMeasure& claimed) const {
    const auto allowed = [&](const Cell& cell) {
        return cell.test && (!claimed.moment || cell.moment == *claimed.moment) &&
               (!claimed.counter || cell.counter == *claimed.counter) &&
               (!claimed.stance || cell.stance == *claimed.stance);
    };
    std::optional<Cell> best;
    std::int32_t first_day = INT32_MAX;
    std::uint64_t most = 0;
    for (const auto& [cell, evenings] : cells_) {
        if (!allowed(cell)) continue;
        const auto& [day, evening] = *evenings.begin();
        if (day > first_day || (day == first_day && evening.on_time.of <= most)) continue;
        best = cell;
        first_day = day;
        most = evening.on_time.of;
    }
    return best;
}

Followed AthleteTally::followed_cell(const Cell& cell, bool end_of_term) const {
    Followed followed;
    followed.measure = on_time_rate;
    followed.cell = cell;
    followed.better = Better::higher;
    for (const auto& [day, evening] : cells_.at(cell)) {
        if (evening.on_time.of < fewest_an_evening) continue;
        followed.values.push_back({static_cast<double>(day), evening.on_time.rate()});
        followed.sampling_variances.push_back(sampling_variance(evening.on_time));
        followed.reps += evening.on_time.of;
    }
    follow(followed, end_of_term);
    if (followed.reps < fewest_for_trend) followed.claim.claim = Claim::too_few;
    return followed;
}

void AthleteTally::add_rhythm(AthleteTerm& term) const {
    std::vector<reading::HitCount> evenings;
    for (const auto& [day, evening] : evenings_)
        if (evening.hits) evenings.push_back(*evening.hits);
    const std::size_t n = evenings.size();
    for (std::size_t i = 0; i < n; ++i) {
        term.hits += evenings[i];
        if (n < 2 * compared_evenings) continue;
        if (i < compared_evenings) term.hits_baseline += evenings[i];
        if (i + compared_evenings >= n) term.hits_now += evenings[i];
    }
    term.rhythm_wealth = tell_.total();
}

void AthleteTally::add_days_off(AthleteTerm& term) const {
    const Evening* before = nullptr;
    std::int32_t before_day = 0;
    for (const auto& [day, evening] : evenings_) {
        if (before != nullptr && day - before_day >= days_off_from)
            term.days_off.push_back({before_day, day, before->on_time, evening.on_time});
        before = &evening;
        before_day = day;
    }
}

AthleteTerm AthleteTally::finish(std::size_t athlete, const ClaimedMeasure& claimed, bool end_of_term,
                                 std::int32_t last_day) {
    end_set();
    AthleteTerm term = std::move(so_far_);
    term.athlete = athlete;
    term.last_day = this->last_day();
    term.first_day = evenings_.empty() ? INT32_MAX : evenings_.begin()->first;
    term.evenings = evenings_.size();
    term.level = training_level_ ? training_level_ : last_level_;
    term.cells = cells();
    term.picked = reading::picked_or_guessed(term.answer_count_total);
    for (const auto& [day, evening] : evenings_)
        if (day > last_day - recent_days)
            for (const std::string& drill : evening.drills) ++term.recent_drills[drill];
    for (const auto& [day, evening] : evenings_)
        for (const auto& [situation, counts] : evening.situations)
            for (std::size_t i = 0; i < counts.size(); ++i) {
                term.situations[situation][i] += counts[i];
                if (day > last_day - recent_days) term.recent_situations[situation][i] += counts[i];
            }
    term.gain_of_drawn = gains_.of(StartKind::drawn);
    term.gain_of_pattern = gains_.of(StartKind::pattern);
    add_rhythm(term);
    add_days_off(term);

    std::vector<Followed> imported;
    for (const auto& [name, values] : measures_) {
        Followed& followed = imported.emplace_back();
        followed.measure = name;
        for (const auto& [day, value] : values) {
            followed.values.push_back({static_cast<double>(day), value});
            term.first_day = std::min(term.first_day, day);
        }
        followed.sampling_variances.assign(followed.values.size(), 0);
    }
    const auto claimable = [&](const Followed& followed) { return claimed.better.contains(followed.measure); };
    const auto cell = claimed.measure == on_time_rate ? claimed_cell(claimed) : std::nullopt;
    auto taken = imported.end();
    if (cell)
        term.claimed = followed_cell(*cell, end_of_term);
    else if (claimed.measure != on_time_rate)
        taken = std::find_if(imported.begin(), imported.end(),
                             [&](const auto& followed) { return followed.measure == claimed.measure; });
    else if (std::count_if(imported.begin(), imported.end(), claimable) == 1)
        taken = std::find_if(imported.begin(), imported.end(), claimable);
    for (auto one = imported.begin(); one != imported.end(); ++one) {
        if (one == taken && claimable(*one)) one->better = claimed.better.at(one->measure);
        follow(*one, end_of_term);
        (one == taken && one->better ? term.claimed : term.others.emplace_back()) = std::move(*one);
    }
    return term;
}

}  // namespace breakstep::progress
