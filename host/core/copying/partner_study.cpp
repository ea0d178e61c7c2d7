#include "core/copying/partner_study.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>

#include "core/score/exchange.hpp"
#include "core/trade/rules.hpp"

namespace breakstep::copying {
namespace {

/// A phase that was seen less often keeps the usual opponent's length.
constexpr std::size_t fewest_lengths = 5;
/// As one exchange asks of a kick after a retreat (score/exchange.cpp).
constexpr double retreat_wealth = 80;
/// What a drill may wait.
constexpr Duration shortest_wait = 1s, longest_wait = 10s;
/// Lengths that a settings file may say.
constexpr double shortest_length = 10e6, longest_length = 10'000e6;

std::optional<AttackKind> kind_of(CameKind came) {
    switch (came) {
        case CameKind::single:
            return AttackKind::single;
        case CameKind::second_lift:
            return AttackKind::rebound;
        case CameKind::carry:
            return AttackKind::carry;
        case CameKind::reset:
            return AttackKind::reset;
        case CameKind::leg_to_hands:
            return AttackKind::leg_to_hands;
        case CameKind::feint:
            return AttackKind::feint;
        case CameKind::nothing:
        case CameKind::bounce:
        case CameKind::impossible:
            return std::nullopt;
    }
    return std::nullopt;
}

double mean(const std::vector<double>& values) {
    return std::accumulate(values.begin(), values.end(), 0.0) / static_cast<double>(values.size());
}

/// Of lengths: sums of squares about their means, relative to them, and how many of them are free.
struct Scatter {
    double squares = 0, free = 0;
    void add(const std::vector<double>& values) {
        if (values.size() < fewest_lengths) return;
        const double middle = mean(values);
        for (const double value : values) squares += (value / middle - 1) * (value / middle - 1);
        free += static_cast<double>(values.size() - 1);
    }
};

void take(const std::vector<double>& values, LengthRange& range, double share = 1, double less = 0) {
    if (values.size() < fewest_lengths) return;
    const auto [least, most] = std::minmax_element(values.begin(), values.end());
    const auto part = [&](double value) {
        return Duration(std::llround(std::clamp((value - less) * share, shortest_length, longest_length)));
    };
    range = {part(mean(values)), part(*least), part(*most)};
}

}  // namespace

std::optional<Manner> PartnerStudy::Retreats::manner() const {
    if (exchanges == 0 || hits == 0 || wealth / static_cast<double>(exchanges) < retreat_wealth) return std::nullopt;
    // As wide as the test's own window about its lag, and half as much again.
    constexpr double reach = 0.45;
    const double about = lag / static_cast<double>(hits) * 1e9;
    std::vector<double> soon;
    for (const double wait : waits)
        if (std::abs(std::log(std::max(1.0, wait) / about)) <= reach) soon.push_back(wait);
    if (soon.empty()) return std::nullopt;
    Manner manner;
    manner.share = std::clamp(static_cast<double>(soon.size()) / static_cast<double>(waits.size()), 0.1, 1.0);
    manner.delay = Duration(std::llround(mean(soon)));
    return manner;
}

void PartnerStudy::fold(const JournalRecord& record) {
    if (std::holds_alternative<SessionBegan>(record.event)) {
        settle(one_, two_);
        score_.emplace();
    }
    std::visit([this](const auto& event) { on(event); }, record.event);
    if (!score_) return;
    ignored_.clear();
    score_->fold(record, ignored_);
}

void PartnerStudy::on(const SessionBegan&) {
    ++sessions_;
    open_.clear();
    goes_on_ = false;
    last_end_.reset();
}

void PartnerStudy::on(const SetPlanned&) {
    wait_begins();
    open_.clear();
    goes_on_ = false;
    last_end_.reset();
}

void PartnerStudy::wait_begins() {
    waits_now_ = true;
    gave_ = {};
}

void PartnerStudy::wait_ends(TargetTime lift) {
    for (std::size_t i = 0; i < gave_.size() && waits_now_; ++i)
        if (gave_[i] && gave_[i]->same_boot(lift) && lift > *gave_[i])
            (i == 0 ? one_ : two_).waits.push_back(static_cast<double>((lift - *gave_[i]).count()));
    waits_now_ = false;
}

void PartnerStudy::on(const RigConnected& connected) {
    if (boot_ == connected.boot) return tracker_.forget();
    boot_ = connected.boot;
    scoring::GateSet gates = 0;
    for (const Channel& channel : connected.channels)
        if (channel.kind == ChannelKind::gate && channel.role < gate_role_count)
            gates = static_cast<scoring::GateSet>(gates | scoring::gate_bit(static_cast<GateRole>(channel.role)));
    tracker_.begin_boot(gates);
    gave_ = {};
}

void PartnerStudy::on(const GateEdge& edge) {
    if (boot_ != edge.at.boot()) return;
    if (!edge.broken) return tracker_.restored(edge.gate);
    const scoring::BreakSeen seen = tracker_.broken(edge.gate, edge.at.since_boot());
    if (!waits_now_ || edge.gate != GateRole::far_mark || !seen.outward) return;
    if (!gave_[0])
        gave_[0] = edge.at;
    else if (!gave_[1])
        gave_[1] = edge.at;
}

void PartnerStudy::on(const RepVoided& voided) {
    if (const auto leg = open_.find(voided.rep); leg != open_.end())
        leg->second.voided = voided.reason != VoidReason::none;
}

void PartnerStudy::on(const LegExpected& expected) { open_[expected.rep].told = expected.told; }

void PartnerStudy::on(const PhaseSeen& seen) {
    const auto leg = open_.find(seen.rep);
    if (leg == open_.end()) return;
    if (leg->second.seen.empty()) wait_ends(seen.at);
    leg->second.seen.push_back(seen);
}

void PartnerStudy::on(const RepClosed& closed) {
    wait_begins();
    const auto found = open_.find(closed.rep);
    if (found == open_.end()) return;
    const Leg leg = std::move(found->second);
    open_.erase(found);
    const auto kind = kind_of(closed.came);
    if (!kind || leg.voided || leg.seen.size() < 2) {
        goes_on_ = false;
        last_end_.reset();
        return;
    }
    ++kicks_;
    measure(leg, *kind);
    learn(leg, *kind);
}

void PartnerStudy::learn(const Leg& leg, AttackKind kind) {
    const PhaseSeen &lift = leg.seen.front(), &end = leg.seen.back();
    if (leg.told) {
        goes_on_ = false;
    } else {
        if (!goes_on_) stretches_.emplace_back();
        stretches_.back().push_back(kind);
        goes_on_ = true;
        if (last_end_ && last_end_->same_boot(lift.at) && lift.at > *last_end_)
            waits_.push_back({static_cast<double>((lift.at - *last_end_).count()), last_tail_});
    }
    // Where nothing follows a gap or hands no gate sees their end: it is the drill's opponent's, not theirs.
    const PhaseSeen& last = leg.seen[leg.seen.size() - 2];
    last_end_.reset();
    if (end.phase != Phase::guard) return;
    last_tail_ = last.phase == Phase::gap ? Tail::gap : last.phase == Phase::hands ? Tail::hands : Tail::none;
    last_end_ = last_tail_ == Tail::none ? end.at : last.at;
}

// Each phase runs to the one after it. The last gap and the last hands end when the usual opponent's do: no gate saw
// it.
void PartnerStudy::measure(const Leg& leg, AttackKind kind) {
    for (std::size_t i = 0; i + 1 < leg.seen.size(); ++i) {
        if (!leg.seen[i].at.same_boot(leg.seen[i + 1].at)) continue;
        const double length = static_cast<double>((leg.seen[i + 1].at - leg.seen[i].at).count());
        const bool last = i + 2 == leg.seen.size();
        switch (leg.seen[i].phase) {
            case Phase::lift:
                // Out of a pull-back and up again is no lift off the floor.
                if (kind == AttackKind::feint)
                    lengths_.feint.push_back(length);
                else if (kind != AttackKind::rebound)
                    lengths_.lift.push_back(length);
                break;
            case Phase::up_or_pull_back:
                if (kind == AttackKind::carry)
                    lengths_.held.push_back(length);
                else if (kind != AttackKind::rebound)
                    lengths_.above.push_back(length);
                break;
            case Phase::drop:
                lengths_.drop.push_back(length);
                break;
            case Phase::gap:
                if (!last) lengths_.gap.push_back(length);
                break;
            default:
                break;
        }
    }
}

// What the exchange of the session that was read says of giving ground.
void PartnerStudy::settle(Retreats& one, Retreats& two) const {
    if (!score_ || score_->exchange() == nullptr) return;
    const auto add = [](const leading::FollowTest& test, Retreats& to) {
        ++to.exchanges;
        to.wealth += leading::wealth_from(test.log_e());
        to.hits += test.count().hits;
        to.lag += test.lag().value_or(0) * static_cast<double>(test.count().hits);
    };
    add(score_->exchange()->after_one_retreat(), one);
    add(score_->exchange()->after_two_retreats(), two);
}

OpponentSettings PartnerStudy::lengths_near(const OpponentSettings& usual) const {
    OpponentSettings own = usual;
    take(lengths_.lift, own.lift);
    take(lengths_.drop, own.drop);
    take(lengths_.gap, own.gap);
    take(lengths_.feint, own.feint);
    // Above the hip no gate tells the way out from the way back: they share the time as the usual opponent's do.
    const double up = static_cast<double>(usual.up.mean.count());
    const double back = static_cast<double>(usual.pull_back.mean.count());
    take(lengths_.above, own.up, up / (up + back));
    take(lengths_.above, own.pull_back, back / (up + back));
    const double above = lengths_.above.size() < fewest_lengths ? up + back : mean(lengths_.above);
    take(lengths_.held, own.carry, 1, above);
    Scatter scatter;
    for (const auto* lengths : {&lengths_.lift, &lengths_.drop, &lengths_.gap, &lengths_.feint}) scatter.add(*lengths);
    if (scatter.free > 0) own.spread = std::min(1.0, std::sqrt(scatter.squares / scatter.free));
    return own;
}

void PartnerStudy::add_order(PartnerCopy& copy) const {
    copy.counts = counts_of(stretches_);
    copy.own_kicks = std::accumulate(copy.counts.begin(), copy.counts.end(), std::uint64_t{0});
    if (copy.own_kicks == 0) return;
    for (std::size_t i = 0; i < kind_count; ++i)
        copy.shares[i] = static_cast<double>(copy.counts[i]) / static_cast<double>(copy.own_kicks);
    copy.order = order_of(stretches_);
}

void PartnerStudy::add_waits(PartnerCopy& copy) const {
    if (waits_.size() < fewest_lengths) return;
    std::vector<double> waits;
    for (const Wait& wait : waits_) {
        const Duration tail = wait.tail == Tail::gap     ? copy.lengths.gap.mean
                              : wait.tail == Tail::hands ? copy.lengths.hands.mean
                                                         : Duration{};
        waits.push_back(std::max(0.0, wait.length - static_cast<double>(tail.count())));
    }
    const double n = static_cast<double>(waits.size()), middle = mean(waits);
    const double least = *std::min_element(waits.begin(), waits.end());
    // The least of n lies above the minimum by a nth of the extra, in the mean.
    const double minimum = std::max(0.0, least - (middle - least) / (n - 1));
    copy.wait_minimum = std::clamp(Duration(std::llround(minimum)), shortest_wait, longest_wait);
    copy.wait_extra = std::clamp(Duration(std::llround(middle)) - copy.wait_minimum, Duration{}, longest_wait);
}

PartnerCopy PartnerStudy::copy() const {
    PartnerCopy copy;
    copy.sessions = sessions_;
    copy.kicks = kicks_;
    add_order(copy);
    if (lengths_.drop.size() >= fewest_lengths) {
        double nearest = 1e9;
        for (const Level level : {Level::beginner, Level::intermediate, Level::advanced}) {
            const double usual = static_cast<double>(opponent_defaults(level).drop.mean.count());
            const double off = std::abs(std::log(mean(lengths_.drop) / usual));
            if (off < nearest) copy.level = level;
            nearest = std::min(nearest, off);
        }
    }
    copy.lengths = lengths_near(opponent_defaults(copy.level));
    add_waits(copy);
    Retreats one = one_, two = two_;
    settle(one, two);
    copy.after_two_retreats = two.manner();
    // Who kicks after the second step back has given the first one, too: the one that says more is theirs.
    if (const auto manner = one.manner(); manner && (!copy.after_two_retreats || one.wealth > two.wealth)) {
        copy.after_one_retreat = manner;
        copy.after_two_retreats.reset();
    }
    return copy;
}

}  // namespace breakstep::copying
