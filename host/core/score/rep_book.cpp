#include "core/score/rep_book.hpp"

#include "core/score/asked_beside.hpp"

#include <algorithm>

namespace breakstep::scoring {

bool plausible(TargetTime at) {
    constexpr Duration limit{std::int64_t{1} << 60U};
    return at.since_boot() < limit && at.since_boot() > -limit;
}

std::optional<Attack> OpenRep::confirmed(Duration lead) const {
    Attack attack{opened.phases, {}, lead};
    for (const auto& onset : onsets) {
        if (!onset) return std::nullopt;
        attack.onsets.push_back(*onset);
    }
    if (attack.phases.empty() != attack.onsets.empty()) return std::nullopt;
    return attack;
}

Attack OpenRep::so_far(Duration lead) const {
    if (partner) {
        // What was seen last goes on.
        OpenRep longer = *this;
        if (longer.seen.back().phase != Phase::guard)
            longer.seen.push_back({Phase::guard, {longer.seen.back().onset.at + longest_phase}});
        return *longer.of_leg(lead, CameKind::nothing);
    }
    Attack attack{opened.phases, {}, lead};
    Duration planned = opened.onset.since_boot();
    for (std::size_t i = 0; i < onsets.size(); ++i) {
        if (onsets[i]) planned = onsets[i]->at;
        attack.onsets.push_back(onsets[i].value_or(Onset{planned, unknown_uncertainty, OnsetSource::lamp}));
        if (i < opened.phases.size()) planned += opened.phases[i].length;
    }
    return attack;
}

RepResult asked_of(const RepOpened& opened) {
    RepResult result;
    result.rep = opened.rep;
    result.set = opened.set;
    result.number = opened.number;
    result.asked = opened.asked;
    result.catch_trial = opened.catch_trial;
    result.opponent_lead = opened.opponent_lead;
    result.start = opened.start;
    result.telegraphed = opened.telegraphed;
    result.window = opened.window;
    result.counts = opened.counts;
    result.drew_by = opened.drew_by;
    if (opened.drew_by != DrewBy::nothing && opened.drawn_at.same_boot(opened.onset))
        result.draw_to_toe_off = opened.onset - opened.drawn_at;
    return result;
}

void RepBook::open(const RepOpened& opened, VoidReason reason) {
    if (find_open(opened.rep) != nullptr || index_of(opened.rep) >= 0) {
        count_misplaced();
        return;
    }
    OpenRep rep;
    rep.opened = opened;
    rep.void_reason = reason;
    if (!opened.catch_trial) rep.onsets.resize(opened.phases.size() + 1);
    open_.push_back(std::move(rep));
}

OpenRep* RepBook::find_open(RepId rep) {
    const auto found =
        std::find_if(open_.begin(), open_.end(), [rep](const OpenRep& o) { return o.opened.rep == rep; });
    return found == open_.end() ? nullptr : &*found;
}

void RepBook::phase_began(const PhaseBegan& began) {
    OpenRep* rep = find_open(began.rep);
    // No damage: a catch trial has no phases, and a void rep's attack plays out.
    if (rep != nullptr && rep->opened.catch_trial) return;
    if (rep != nullptr && rep->partner) return count_misplaced();
    if (rep == nullptr && is_void(began.rep)) return;
    const bool fits = rep != nullptr && began.index >= 0 &&
                      static_cast<std::size_t>(began.index) < rep->onsets.size() && plausible(began.at) &&
                      began.at.same_boot(rep->opened.onset);
    if (!fits) {
        count_misplaced();
        return;
    }
    // Told twice: the better source stands (the confirmed lamp, else sound, else screen).
    auto& onset = rep->onsets[static_cast<std::size_t>(began.index)];
    if (!onset || began.source < onset->source) onset = Onset{began.at.since_boot(), began.uncertainty, began.source};
}

std::ptrdiff_t RepBook::index_of(RepId rep) const {
    const auto place = std::lower_bound(results_.begin(), results_.end(), rep,
                                        [](const RepResult& result, RepId id) { return result.rep < id; });
    return place != results_.end() && place->rep == rep ? place - results_.begin() : -1;
}

bool RepBook::is_void(RepId rep) const {
    const std::ptrdiff_t index = index_of(rep);
    return index >= 0 && results_[static_cast<std::size_t>(index)].verdict == Verdict::void_rep;
}

std::optional<Duration> RepBook::onset_of(RepId rep) const {
    const std::ptrdiff_t index = index_of(rep);
    if (index < 0) return std::nullopt;
    return measured_[static_cast<std::size_t>(index)].onset;
}

void RepBook::decide(RepId rep, RepResult result, std::vector<ScoreResult>& out) {
    Measured measured{result.verdict, result.void_reason, result.scored, false, {}};
    std::erase_if(open_, [&](const OpenRep& open) {
        if (open.opened.rep == rep) {
            measured.coach_void = open.coach_void;
            measured.onset = open.opened.onset.since_boot();
        }
        return open.opened.rep == rep;
    });
    // Nearly always the end: reps close in order, but a void may decide a later one first.
    auto place = results_.end();
    while (place != results_.begin() && rep < (place - 1)->rep) --place;
    const auto index = static_cast<std::size_t>(place - results_.begin());
    results_.insert(place, std::move(result));
    measured_.insert(measured_.begin() + static_cast<std::ptrdiff_t>(index), measured);
    lay_void(index);
    out.emplace_back(results_[index]);
}

// Shows the measured verdict, or the coach's void over it.
void RepBook::lay_void(std::size_t index) {
    const Measured& measured = measured_[index];
    RepResult& result = results_[index];
    result.verdict = measured.coach_void ? Verdict::void_rep : measured.verdict;
    result.void_reason = measured.coach_void ? VoidReason::coach : measured.reason;
    result.scored = measured.scored && !measured.coach_void;
}

bool RepBook::void_decided(RepId rep, VoidReason reason, std::vector<ScoreResult>& out) {
    const std::ptrdiff_t found = index_of(rep);
    if (found < 0) return false;
    const auto index = static_cast<std::size_t>(found);
    Measured& measured = measured_[index];
    const VoidReason shown = results_[index].void_reason;
    if (reason == VoidReason::coach || reason == VoidReason::none) {
        measured.coach_void = reason == VoidReason::coach;
    } else if (measured.verdict != Verdict::void_rep) {
        measured.verdict = Verdict::void_rep;
        measured.reason = reason;
        measured.scored = false;
    }
    lay_void(index);
    // The same void said twice (by the rig's return and by conduct) is no news.
    if (results_[index].void_reason != shown) out.emplace_back(results_[index]);
    return true;
}

void RepBook::add_later_contacts(RepId rep, const std::vector<Duration>& from_onset, std::vector<ScoreResult>& out) {
    const std::ptrdiff_t found = index_of(rep);
    if (found < 0 || from_onset.empty()) return;
    RepResult& result = results_[static_cast<std::size_t>(found)];
    result.later_contacts.insert(result.later_contacts.end(), from_onset.begin(), from_onset.end());
    out.emplace_back(result);
}

void RepBook::settle_way_out(RepId rep, bool in_time, const Asks& asks, std::vector<ScoreResult>& out) {
    const std::ptrdiff_t found = index_of(rep);
    if (found < 0) return;
    const auto index = static_cast<std::size_t>(found);
    RepResult& result = results_[index];
    result.out_in_time = in_time;
    result.rung_hit = rung_hit(asks, result);
    out.emplace_back(result);
}

std::int32_t RepBook::retreats() const {
    std::int32_t count = 0;
    for (const RepResult& result : results_)
        if (result.retreated && result.verdict != Verdict::void_rep) ++count;
    return count;
}

}  // namespace breakstep::scoring
