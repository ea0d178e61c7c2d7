// With a partner in the evening: who kicks, what the rig needs before, what the partner is to do.
#include <algorithm>

#include "core/trade/rules.hpp"
#include "hall/evening/evening_owner.hpp"

namespace breakstep {

using namespace evening;

std::string words_of(const AttackChoice& attack) {
    switch (attack.kind) {
        case AttackKind::single:
            return "a single kick";
        case AttackKind::rebound:
            return attack.rebounds > 1 ? "a kick and " + std::to_string(attack.rebounds) + " rebounds"
                                       : "a kick and a rebound";
        case AttackKind::carry:
            return "a kick, the leg carried";
        case AttackKind::reset:
            return "a kick, down, and again";
        case AttackKind::leg_to_hands:
            return "a kick, then hands";
        case AttackKind::feint:
            return "a feint";
    }
    return "";
}

// Whoever kicks takes part; nobody's number stands there where nobody else is here.
std::vector<Participant> EveningOwner::pair_of(const SessionBegan& began) {
    std::vector<Participant> pair{{ParticipantRole::athlete, began.athlete, began.athlete_lead}};
    Participant partner{ParticipantRole::partner, AthleteId{}, Side::right};
    if (const auto kicks = partner_for(state_, began.athlete)) {
        partner.athlete = *kicks;
        if (const auto known = club_.session(*kicks, began.drill.name)) partner.lead = known->athlete_lead;
    } else if (on_notice) {
        on_notice("nobody else is here to kick: somebody must stand in the partner's box");
    }
    pair.push_back(partner);
    return pair;
}

// What is to be done to the rig before `one` begins: the height, and the partner's box where the rig stands without it.
std::string EveningOwner::gates_for(const Person& one, bool moves) const {
    std::string words;
    if (moves && club_.gates && one.height_order != 0) words = club_.gates(one.height_order);
    const auto& rig = core_.engine().link().rig();
    if (!club_.with_partner || !club_.with_partner(one.dose.drill) || !rig) return words;
    const auto has = [&rig](GateRole role) {
        return std::any_of(rig->channels.begin(), rig->channels.end(), [role](const Channel& channel) {
            return channel.kind == ChannelKind::gate && channel.role == static_cast<std::uint8_t>(role);
        });
    };
    if (!has(GateRole::low) || !has(GateRole::hip)) {
        if (!words.empty()) words += ' ';
        words += "The partner's box beside the target, low and hip gate in, the rig's switch to partner.";
    }
    if (club_.leads_to_edge && club_.leads_to_edge(one.dose.drill) && !has(GateRole::partner_back_mark)) {
        if (!words.empty()) words += ' ';
        words += "A gate across the back of the partner's box, in the partner's back mark.";
    }
    return words;
}

void EveningOwner::add_partner_next(EveningView& view) const {
    const Conduct* conduct = core_.engine().conduct();
    const bool at_it = state_.rig == AtRig::called || state_.rig == AtRig::running;
    if (!at_it || conduct == nullptr || core_.engine().running_session() != state_.session) return;
    if (conduct->list_refusal()) return;
    PartnerNextSeen next;
    if (view.task) next.partner = view.task->partner;
    for (std::int32_t kind = 0; kind <= static_cast<std::int32_t>(AttackKind::feint); ++kind)
        if (!conduct->list_refusal(kind)) next.kinds.push_back(partner_word(kind));
    if (!conduct->list_refusal(asked_nothing)) next.kinds.push_back(partner_word(asked_nothing));
    for (const std::int32_t choice : conduct->partner_list()) next.listed.push_back(partner_word(choice));
    if (const auto planned = conduct->planned_for_partner())
        next.planned = partner_word(static_cast<std::int32_t>(*planned));
    view.partner_next = std::move(next);
}

// Why the coach's list can't be asked; none: it can.
Why EveningOwner::why_no_list(const std::string& text) const {
    const Conduct* conduct = core_.engine().conduct();
    if (!core_.engine().in_session() || conduct == nullptr) return Why::no_turn;
    const auto list = partner_list_in(text);
    if (conduct->list_refusal()) return Why::no_partner;
    if (!list) return Why::no_such_attack;
    if ((list->after ? conduct->partner_list().size() : 0) + list->choices.size() > partner_list_most)
        return Why::list_full;
    for (const std::int32_t choice : list->choices)
        if (conduct->list_refusal(choice)) return Why::no_such_attack;
    return Why::none;
}

void EveningOwner::ask_partner(const PartnerList& list, HostTime now) {
    core_.call(InputCall{ListForPartner{list}, now}, now);
}

// Once the leg moves the cue has been seen: the next one, of the same words, must not look as if it stood there still.
void EveningOwner::follow_cue(const JournalEvent& event) {
    if (!partner_cue_) return;
    const auto* seen = std::get_if<PhaseSeen>(&event);
    const auto* closed = std::get_if<RepClosed>(&event);
    const bool over =
        (seen != nullptr && seen->rep == partner_cue_->rep) || (closed != nullptr && closed->rep == partner_cue_->rep);
    if (!over) return;
    partner_cue_.reset();
    asked_ = true;
}

void EveningOwner::add_partner_cue(EveningView& view, HostTime now) const {
    if (!partner_cue_ || state_.rig != AtRig::running || now >= partner_cue_->at + partner_patience) return;
    PartnerCueSeen cue;
    if (view.task) cue.partner = view.task->partner;
    cue.what = words_of(partner_cue_->what);
    cue.lead = partner_cue_->lead;
    cue.feint = partner_cue_->what.kind == AttackKind::feint;
    cue.at = partner_cue_->at;
    cue.until = partner_cue_->at + partner_patience;
    view.partner_cue = std::move(cue);
}

}  // namespace breakstep
