#include "core/score/exchange.hpp"

#include <algorithm>
#include <cmath>

namespace breakstep::scoring {
namespace {

constexpr std::size_t tempo_of_last = 13;  // acts: twelve intervals
// The three streams of "can be read" share 1 in 20: 1/80 + 1/80 + 1/40.
constexpr double retreat_wealth = 80, kinds_wealth = 40;
// What a partner does: comes up and down, goes on, ends with the hands, or never meant it.
constexpr std::size_t kinds_told_apart = 4;

std::optional<std::uint8_t> symbol_of(CameKind came) {
    switch (came) {
        case CameKind::single:
        case CameKind::carry:
            return 0;
        case CameKind::second_lift:
        case CameKind::reset:
            return 1;
        case CameKind::leg_to_hands:
            return 2;
        case CameKind::feint:
            return 3;
        default:
            return std::nullopt;
    }
}

}  // namespace

Exchange::Exchange()
    : one_retreat_(usual_shortest, retreat_wealth),
      two_retreats_(usual_shortest, retreat_wealth),
      kinds_(kinds_told_apart) {}

void Exchange::add(Duration at, What what) {
    if (fed_until_ && at < *fed_until_) {
        ++late_;
        return;
    }
    auto place = waiting_.end();
    while (place != waiting_.begin() && at < (place - 1)->at) --place;
    waiting_.insert(place, {at, what});
}

void Exchange::coin(Duration at, const CoinThrown& thrown) {
    trials_.push_back({at + thrown.from, at + thrown.to, thrown.cued});
}

void Exchange::kicked(CameKind came) {
    const auto symbol = symbol_of(came);
    if (!symbol) return;
    kinds_.look(*symbol);
    most_kinds_ = std::max(most_kinds_, kinds_.log_wealth_habit());
}

void Exchange::other_boot() {
    fed_until_.reset();
    shift_ = last_ + 1s;
    if (edge_) edge_->other_boot();
}

void Exchange::feed(const Act& told) {
    const Act act{told.at + shift_, told.what};
    last_ = std::max(last_, act.at);
    const auto note = [&](std::vector<Duration>& acts) {
        if (acts.size() == tempo_of_last) acts.erase(acts.begin());
        acts.push_back(act.at);
    };
    switch (act.what) {
        case What::entry:
            bout_.entered(leading::Who::a, act.at);
            note(entries_);
            for (Trial& trial : trials_)
                if (told.at >= trial.from && told.at <= trial.to) trial.entered = true;
            return;
        case What::retreat:
            ++retreats_;
            if (retreats_ == 1) one_retreat_.acted(act.at);
            if (retreats_ == 2) two_retreats_.acted(act.at);
            return;
        case What::lift:
            // A toe-off is the partner's going, as a step past the near mark is the athlete's.
            bout_.entered(leading::Who::b, act.at);
            one_retreat_.entered(act.at);
            two_retreats_.entered(act.at);
            retreats_ = 0;
            note(lifts_);
            return;
    }
}

void Exchange::complete(Duration through) {
    std::size_t next = 0;
    while (next < waiting_.size() && waiting_[next].at < through) feed(waiting_[next++]);
    waiting_.erase(waiting_.begin(), waiting_.begin() + static_cast<std::ptrdiff_t>(next));
    fed_until_ = std::max(fed_until_.value_or(through), through);
    std::size_t over = 0;
    while (over < trials_.size() && trials_[over].to < through) {
        coin_.add(trials_[over].cued, trials_[over].entered);
        ++over;
    }
    trials_.erase(trials_.begin(), trials_.begin() + static_cast<std::ptrdiff_t>(over));
}

void Exchange::interrupted() {
    if (!waiting_.empty()) complete(waiting_.back().at + 1ns);
    bout_.interrupted();
    one_retreat_.interrupted();
    two_retreats_.interrupted();
    trials_.clear();
    entries_.clear();
    lifts_.clear();
    retreats_ = 0;
}

PartnerHabit Exchange::partner_habit() const {
    const bool one = one_retreat_.sign() == Sign::tell, two = two_retreats_.sign() == Sign::tell;
    if (two && (!one || two_retreats_.log_e() >= one_retreat_.log_e())) return PartnerHabit::after_two_retreats;
    if (one) return PartnerHabit::after_one_retreat;
    return most_kinds_ >= std::log(kinds_wealth) ? PartnerHabit::kicks_alike : PartnerHabit::none;
}

LiveTempo Exchange::tempo_of(const std::vector<Duration>& acts) {
    LiveTempo tempo;
    if (acts.size() < 2) return tempo;
    std::vector<double> lengths;
    for (std::size_t i = 1; i < acts.size(); ++i)
        lengths.push_back(static_cast<double>((acts[i] - acts[i - 1]).count()));
    tempo.intervals = lengths.size();
    double sum = 0, squares = 0;
    for (const double length : lengths) sum += length;
    const double mean = sum / static_cast<double>(lengths.size());
    for (const double length : lengths) squares += (length - mean) * (length - mean);
    tempo.variation = std::sqrt(squares / static_cast<double>(lengths.size())) / mean;
    std::sort(lengths.begin(), lengths.end());
    tempo.median = Duration(std::llround(lengths[lengths.size() / 2]));
    return tempo;
}

}  // namespace breakstep::scoring
