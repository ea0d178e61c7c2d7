// The coin drill: at random moments a secret coin cues the partner, or does nothing; whether the athlete then enters is
// all that counts. Nothing that anyone sees or hears tells one trial from the other but the partner's own lamp.
#include "core/conduct/state.hpp"
#include "core/leading/coin_drill.hpp"

namespace breakstep {

namespace {

constexpr LampSet partner_lamp = lamp_bit(LampRole::partner);

}  // namespace

std::optional<TargetTime> Conduct::State::coin_due() const {
    if (!with_partner() || drill.start != StartKind::coin || set_trials >= drill.reps) return std::nullopt;
    return next_coin;
}

void Conduct::State::begin_coins(TargetTime begin) {
    if (drill.start == StartKind::coin)
        next_coin = begin + draw_wait(leading::coin_wait_least, drill.wait_extra, random);
}

void Conduct::State::throw_coin(const Now& now) {
    const auto due = coin_due();
    if (!due) return;
    if (!due->same_boot(*now.rig)) {
        begin_coins(*now.rig);
        return;
    }
    if (*now.rig < *due - cue_ahead) return;
    const TargetTime at = std::max(*due, *now.rig + cue_ahead);
    const bool cued = random.chance(0.5);
    append(CoinThrown{trials++, at, cued, leading::coin_window_from, leading::coin_window_to});
    ++set_trials;
    coins_until = at + leading::coin_window_to;
    begin_coins(*coins_until);
    // The same orders either way: what is asked of the rig must not tell one from the other.
    commands.push_back(OrderLamps{{}, at, partner_lamp, cued ? partner_lamp : LampSet{0}});
    commands.push_back(OrderLamps{{}, at + partner_lamp_lit, partner_lamp, 0});
    if (cued)
        commands.push_back(TellPartner{CueRef::none, drill.attacks.front(),
                                       drill.lead_sides == LeadSides::left ? Side::left : Side::right, at});
}

bool Conduct::State::coins_over() const {
    if (drill.start != StartKind::coin) return true;
    return set_trials >= drill.reps && coins_until && promised &&
           (!promised->same_boot(*coins_until) || *promised >= *coins_until + arrival_slack);
}

}  // namespace breakstep
