#include "core/ladder/rung.hpp"

namespace breakstep::ladder {

Expected<Rung> Rung::at(double mark) {
    // Written so that what is not a number fails too; the second half guards the logarithms against rounding.
    if (!(mark > step_down_gap && mark < 1.0) || !(mark - step_down_gap > 0.0))
        return failure(ErrorKind::bad_input, "a rung's mark must lie above 0.15 and below 1",
                       "give a rate, such as 0.5 for half on time");
    return Rung(mark);
}

Rung::Rung(double mark) : up_(mark, Beyond::above), down_(mark - step_down_gap, Beyond::below) {}

void Rung::add(bool on_time) {
    up_.add(on_time);
    down_.add(on_time);
    if (!passed_at_ && up_.ever_had_enough()) passed_at_ = up_.reps();
    if (!step_down_at_ && down_.ever_had_enough() && down_.evenings() >= 2) step_down_at_ = down_.reps();
}

void Rung::end_evening() {
    up_.end_evening();
    down_.end_evening();
}

Expected<FeintRung> FeintRung::at(double mark) {
    const auto attacks = Rung::at(mark);
    if (!attacks) return tl::make_unexpected(attacks.error());
    return FeintRung(*attacks);
}

void FeintRung::add_attack(bool on_time) {
    attacks_.add(on_time);
    look();
}

void FeintRung::add_feint(bool held) {
    feints_.add(held);
    look();
}

void FeintRung::look() {
    if (!passed_at_ && attacks_.passed() && feints_.ever_had_enough())
        passed_at_ = attacks_.up().reps() + feints_.reps();
}

void FeintRung::end_evening() {
    attacks_.end_evening();
    feints_.end_evening();
}

}  // namespace breakstep::ladder
