#include "devices/simulated/attack_reader.hpp"

#include <algorithm>
#include <cmath>

namespace breakstep {
namespace {

constexpr double learning = 0.25;  // weight of the newest length
constexpr double longest_gap = 700e6;
constexpr double held_factor = 1.45;  // a leg up for so many times the usual looks held

constexpr LampSet foot = lamp_bit(LampRole::foot), hip = lamp_bit(LampRole::hip), head = lamp_bit(LampRole::head);

Duration nanoseconds(double ns) { return Duration(std::llround(ns)); }

Sight sight_of(Phase phase) {
    switch (phase) {
        case Phase::lift:
            return Sight::lift;
        case Phase::up:
            return Sight::up;
        case Phase::pull_back:
            return Sight::pull_back;
        case Phase::drop:
            return Sight::drop;
        case Phase::gap:
            return Sight::gap;
        case Phase::hands:
            return Sight::hands;
        case Phase::guard:
        case Phase::up_or_pull_back:
            break;
    }
    return Sight::nothing;
}

}  // namespace

void AttackReader::Length::learn(double length) {
    ++seen;
    mean += std::max(learning, 1.0 / (seen + 1)) * (length - mean);
}

AttackReader::AttackReader(std::vector<AttackChoice> told, Level used_to) : told_(std::move(told)) {
    if (told_.empty()) told_.push_back({});
    const OpponentSettings usual = opponent_defaults(used_to);
    const auto expect = [](const LengthRange& range) { return Length{static_cast<double>(range.mean.count())}; };
    lengths_ = {expect(usual.lift), expect(usual.up),    expect(usual.pull_back), expect(usual.drop),
                expect(usual.gap),  expect(usual.carry), expect(usual.hands)};
}

std::optional<Sight> AttackReader::last() const {
    if (seen_.empty()) return std::nullopt;
    return seen_.back();
}

double AttackReader::bits() const { return std::log2(static_cast<double>(told_.size())); }

bool AttackReader::feints_told() const {
    return std::any_of(told_.begin(), told_.end(),
                       [](const AttackChoice& choice) { return choice.kind == AttackKind::feint; });
}

Duration AttackReader::held_after() const { return nanoseconds(lengths_.up.mean * held_factor); }

void AttackReader::forget_attack() {
    seen_.clear();
    seen_at_.clear();
}

void AttackReader::guess_kind(Random& random) {
    std::int32_t shares = 0;
    for (const AttackChoice& choice : told_)
        if (choice.kind != AttackKind::feint) shares += choice.share;
    if (shares == 0) return;
    auto draw = static_cast<std::int32_t>(random.below(static_cast<std::uint32_t>(shares)));
    for (std::size_t i = 0; i < told_.size(); ++i) {
        if (told_[i].kind == AttackKind::feint) continue;
        draw -= told_[i].share;
        if (draw >= 0) continue;
        expected_ = i;
        return;
    }
}

Sight AttackReader::see(HostTime at, LampSet lit) {
    const LampSet before = lit_;
    lit_ = lit;
    if (lit == before) return Sight::nothing;
    const std::optional<Sight> previous = last();
    if (previous) learn(*previous, static_cast<double>((at - last_at()).count()));

    Sight sight = Sight::nothing;
    if (lit == foot) {
        sight = previous == Sight::pull_back ? Sight::drop : Sight::lift;
    } else if (lit == head) {
        sight = Sight::up;
    } else if (lit == hip) {
        sight = Sight::pull_back;
    } else if (lit == (hip | head)) {
        sight = Sight::hands;
    } else if (lit == 0 && previous == Sight::lift) {
        sight = Sight::feint_over;
    } else if (lit == 0 && previous == Sight::drop) {
        sight = Sight::gap;
    } else if (lit == 0) {
        sight = Sight::attack_over;
    }
    if (sight == Sight::feint_over || sight == Sight::attack_over || sight == Sight::nothing) {
        forget_attack();
        return sight;
    }
    seen_.push_back(sight);
    seen_at_.push_back(at);
    change_mind();
    return sight;
}

void AttackReader::learn(Sight ended, double length) {
    switch (ended) {
        case Sight::lift:
            // A feint's lift lasts longer than the rise of a kick; it is over when the lamps go dark, not up.
            if (lit_ != 0) lengths_.lift.learn(length);
            return;
        case Sight::up:
            if (length < lengths_.up.mean * held_factor) return lengths_.up.learn(length);
            return lengths_.hold.learn(length - lengths_.up.mean);
        case Sight::pull_back:
            return lengths_.pull_back.learn(length);
        case Sight::drop:
            return lengths_.drop.learn(length);
        case Sight::gap:
            // Longer in the dark was no gap but the end of the attack.
            if (length <= longest_gap) lengths_.gap.learn(length);
            return;
        default:
            return;
    }
}

std::vector<AttackReader::Expected> AttackReader::script_of(const AttackChoice& choice) const {
    std::vector<Expected> script;
    const auto kick = [&](int rebounds) {
        script.push_back({Phase::up, lengths_.up.mean});
        for (int i = 0; i < rebounds; ++i) {
            script.push_back({Phase::pull_back, lengths_.pull_back.mean});
            script.push_back({Phase::up, lengths_.up.mean});
        }
        script.push_back({Phase::pull_back, lengths_.pull_back.mean});
        script.push_back({Phase::drop, lengths_.drop.mean});
        script.push_back({Phase::gap, lengths_.gap.mean});
    };
    script.push_back({Phase::lift, lengths_.lift.mean});
    if (choice.kind == AttackKind::feint) return script;
    if (choice.kind == AttackKind::carry) script.push_back({Phase::up, lengths_.hold.mean, true});
    kick(choice.kind == AttackKind::rebound ? choice.rebounds : 0);
    if (choice.kind == AttackKind::reset) {
        script.push_back({Phase::lift, lengths_.lift.mean});
        kick(0);
    }
    if (choice.kind == AttackKind::leg_to_hands) script.push_back({Phase::hands, lengths_.hands.mean});
    return script;
}

std::vector<Sight> AttackReader::sights_of(const std::vector<Expected>& script) {
    std::vector<Sight> sights;
    for (const Expected& phase : script)
        if (sights.empty() || sights.back() != sight_of(phase.phase)) sights.push_back(sight_of(phase.phase));
    return sights;
}

bool AttackReader::fits(const AttackChoice& choice) const {
    const auto sights = sights_of(script_of(choice));
    return seen_.size() <= sights.size() && std::equal(seen_.begin(), seen_.end(), sights.begin());
}

void AttackReader::change_mind() {
    if (fits(told_[expected_])) return;
    for (std::size_t i = 0; i < told_.size(); ++i) {
        if (told_[i].kind == AttackKind::feint || !fits(told_[i])) continue;
        expected_ = i;
        return;
    }
}

bool AttackReader::up_too_long(HostTime now) {
    if (last() != Sight::up || now - last_at() < held_after()) return false;
    if (expected().kind == AttackKind::carry) return false;
    for (std::size_t i = 0; i < told_.size(); ++i) {
        if (told_[i].kind != AttackKind::carry || !fits(told_[i])) continue;
        expected_ = i;
        return true;
    }
    return false;
}

std::vector<AttackReader::Expected> AttackReader::ahead() const {
    const auto script = script_of(told_[expected_]);
    std::vector<Expected> rest;
    if (fits(told_[expected_])) {
        // Skip as many changes as were seen, but the last.
        std::size_t changes = 0;
        for (std::size_t i = 0; i < script.size(); ++i) {
            if (i == 0 || script[i].phase != script[i - 1].phase) ++changes;
            if (changes >= seen_.size()) rest.push_back(script[i]);
        }
        return rest;
    }
    // Something nobody told of: it goes on as a kick does.
    constexpr std::size_t lift_place = 0, up_place = 1, pull_back_place = 2, drop_place = 3, gap_place = 4;
    const auto kick = script_of(AttackChoice{});
    std::size_t place = gap_place;
    if (seen_.back() == Sight::lift) place = lift_place;
    if (seen_.back() == Sight::up) place = up_place;
    if (seen_.back() == Sight::pull_back) place = pull_back_place;
    if (seen_.back() == Sight::drop) place = drop_place;
    if (seen_.back() != Sight::hands) rest.assign(kick.begin() + static_cast<std::ptrdiff_t>(place), kick.end());
    return rest;
}

template <class Wanted>
std::optional<AttackReader::Window> AttackReader::find(HostTime now, Wanted wanted) const {
    if (seen_.empty()) return std::nullopt;
    HostTime begin = last_at();
    for (const Expected& phase : ahead()) {
        const HostTime end = begin + nanoseconds(phase.length);
        if (wanted(phase) && end > now) return Window{begin, end};
        begin = end;
    }
    return std::nullopt;
}

std::optional<AttackReader::Window> AttackReader::window(Moment moment, HostTime now) const {
    const Phase phase = moment == Moment::lift ? Phase::lift : moment == Moment::drop ? Phase::drop : Phase::gap;
    return find(now, [phase](const Expected& expected) { return expected.phase == phase; });
}

std::optional<AttackReader::Window> AttackReader::held_window(HostTime now) const {
    return find(now, [](const Expected& expected) { return expected.held; });
}

}  // namespace breakstep
