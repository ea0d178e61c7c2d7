#include "core/leg/leg_reader.hpp"

#include <algorithm>

namespace breakstep::leg {

LegReader::LegReader(std::optional<AttackKind> asked, bool low_broken, bool hip_broken)
    : asked_(asked),
      at_(low_broken || hip_broken ? At::blocked : At::floor),
      low_broken_(low_broken),
      hip_broken_(hip_broken) {}

bool LegReader::in_time(TargetTime at) {
    if (at_ == At::ended) {
        ++ignored_;
        return false;
    }
    if (latest_ && (!latest_->same_boot(at) || at < *latest_)) {
        end(Impossible::out_of_order);
        return false;
    }
    latest_ = at;
    return true;
}

bool LegReader::takes(bool& gate, bool broken, TargetTime at) {
    // What is due before the edge is told first, so that phases stay in order.
    passed(at);
    if (!in_time(at)) return false;
    if (gate == broken) {
        end(Impossible::edge_missing);
        return false;
    }
    gate = broken;
    if (at_ != At::blocked) return true;
    if (!low_broken_ && !hip_broken_) at_ = At::floor;
    ++ignored_;
    return false;
}

void LegReader::tell(Phase phase, const Border& border) {
    if (count_ == phases_max) return end(Impossible::flickering);
    phases_[count_++] = {phase, border.at, border.bound};
}

void LegReader::tell_lift() {
    if (lift_told_) return;
    lift_told_ = true;
    tell(Phase::lift, left_);
}

void LegReader::end(Impossible why) {
    if (at_ == At::ended) return;
    at_ = At::ended;
    impossible_ = why;
    came_ = CameKind::impossible;
}

void LegReader::leave_floor(const Border& border) {
    at_ = At::off;
    left_ = border;
    lift_told_ = false;
}

void LegReader::touch_floor(const Border& border) {
    if (at_ == At::above_hip) return end(Impossible::down_above_hip);
    if (at_ == At::below_hip) {
        tell(Phase::drop, hip_crossed_);
        if (at_ == At::ended) return;
        tell(Phase::gap, border);
        ++kicks_;
    } else if (border.at - left_.at < bounce_under) {
        ++bounces_;
    } else {
        tell_lift();
        if (at_ == At::ended) return;
        tell(Phase::guard, border);
        ++feints_;
    }
    if (at_ != At::ended) at_ = At::floor;
}

void LegReader::low(bool broken, TargetTime at, Uncertainty bound) {
    if (!takes(low_broken_, broken, at)) return;
    broken ? leave_floor({at, bound}) : touch_floor({at, bound});
}

void LegReader::hip(bool broken, TargetTime at, Uncertainty bound) {
    if (!takes(hip_broken_, broken, at)) return;
    const Border border{at, bound};
    if (!broken) {
        hip_longest_ = std::max(hip_longest_, at - hip_crossed_.at);
        at_ = At::below_hip;
        hip_crossed_ = border;
        return;
    }
    if (at_ == At::floor) return end(Impossible::hip_without_low);
    if (at_ == At::off) {
        if (at - left_.at > hip_within) return end(Impossible::hip_too_late);
        tell_lift();
    } else {
        ++second_lifts_;
        tell(Phase::lift, hip_crossed_);
    }
    if (at_ == At::ended) return;
    at_ = At::above_hip;
    hip_crossed_ = border;
    tell(Phase::up_or_pull_back, border);
}

void LegReader::hands(TargetTime at, Uncertainty bound) {
    // Withheld until the edges before it are known: a tap may come sooner than an edge that was stamped earlier.
    if (at_ == At::ended || pending_hands_ || (latest_ && (!latest_->same_boot(at) || at < *latest_)))
        ++hands_not_counted_;
    else
        pending_hands_ = Border{at, bound};
}

void LegReader::settle_hands() {
    const Border border = *pending_hands_;
    pending_hands_.reset();
    if (at_ != At::floor || kicks_ == 0 || phases_[count_ - 1].phase == Phase::hands) {
        ++hands_not_counted_;
        return;
    }
    ++hands_;
    tell(Phase::hands, border);
}

void LegReader::passed(TargetTime now) {
    if (at_ == At::ended || (latest_ && (!latest_->same_boot(now) || now < *latest_))) return;
    latest_ = now;
    if (pending_hands_ && pending_hands_->at.same_boot(now) && pending_hands_->at <= now) settle_hands();
    if (at_ == At::off && !lift_told_ && now.same_boot(left_.at) && now - left_.at >= bounce_under) tell_lift();
}

CameKind LegReader::kind() const {
    if (hands_ > 0) return CameKind::leg_to_hands;
    if (kicks_ > 0 && kicks_ + feints_ > 1) return CameKind::reset;
    if (second_lifts_ > 0) return CameKind::second_lift;
    if (kicks_ > 0 && asked_ == AttackKind::carry && hip_longest_ >= carry_from) return CameKind::carry;
    if (kicks_ > 0) return CameKind::single;
    if (feints_ > 0) return CameKind::feint;
    return bounces_ > 0 ? CameKind::bounce : CameKind::nothing;
}

CameKind LegReader::close(TargetTime at) {
    passed(at);
    if (at_ == At::ended) return came_;
    if (pending_hands_) settle_hands();
    if (at_ == At::blocked) {
        end(Impossible::blocked);
    } else if (at_ != At::floor) {
        end(Impossible::never_down);
    } else {
        came_ = kind();
        at_ = At::ended;
    }
    return came_;
}

Undecided LegReader::undecided() const {
    if (at_ == At::off && !lift_told_) return Undecided::lift_or_bounce;
    return at_ == At::below_hip ? Undecided::drop_or_second_lift : Undecided::nothing;
}

}  // namespace breakstep::leg
