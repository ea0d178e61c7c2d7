#include "core/score/asked_beside.hpp"

#include <algorithm>

#include "core/trade/rules.hpp"

namespace breakstep::scoring {
namespace {

constexpr std::size_t kept_edges = 32;

template <class T>
void keep(std::vector<T>& list, T value) {
    if (list.size() == kept_edges) list.erase(list.begin());
    list.push_back(value);
}

bool is_good(Verdict verdict) { return verdict == Verdict::on_time || verdict == Verdict::around; }

}  // namespace

std::optional<Verdict> take_call(std::vector<Contact>& contacts, Duration over) {
    if (contacts.empty() || contacts.front().at >= over) return std::nullopt;
    const auto call =
        std::find_if(contacts.begin(), contacts.end(), [over](const Contact& each) { return each.at >= over; });
    if (call == contacts.end()) return std::nullopt;
    const PadRole pad = call->pad;
    contacts.erase(call, contacts.end());
    if (pad == PadRole::low_left) return Verdict::early;
    return pad == PadRole::low_right ? Verdict::late : Verdict::on_time;
}

void AskedBeside::begin_boot(GateSet gates) {
    *this = AskedBeside{};
    has_line_ = (gates & gate_bit(GateRole::attack_line)) != 0;
    has_near_ = (gates & gate_bit(GateRole::near_mark)) != 0;
}

void AskedBeside::forget() {
    outs_.clear();
    line_.clear();
    open_.reset();
}

void AskedBeside::near_outward(Duration at) { keep(outs_, at); }
void AskedBeside::line_broken(Duration at) {
    if (line_.empty() || at - last_line_break_ >= pass_window) keep(line_, at);
    last_line_break_ = at;
}

std::optional<bool> AskedBeside::out_of(Duration contact, Duration deadline, Duration known) const {
    const bool out =
        std::any_of(outs_.begin(), outs_.end(), [&](Duration at) { return at > contact && at <= deadline; });
    if (out) return true;
    return known > deadline ? std::optional(false) : std::nullopt;
}

std::optional<bool> AskedBeside::settled(Duration known) const {
    return open_ ? out_of(open_->contact, open_->deadline, known) : std::nullopt;
}

void AskedBeside::judge(const Drill& drill, const Attack& attack, const std::vector<Contact>& contacts,
                        const Stretch& stretch, RepResult& result) {
    open_.reset();
    if (contacts.empty() || was_feint(result) || result.catch_trial) return;
    const Contact& first = contacts.front();
    if (result.asked.then_pads != 0)
        result.followed_up = std::any_of(contacts.begin() + 1, contacts.end(), [&](const Contact& each) {
            return (result.asked.then_pads & pad_bit(each.pad)) != 0 && each.at <= first.at + result.asked.then_within;
        });
    if (has_line_ && drill.asks.off_line) {
        // The beam runs along the line, beside the athlete: who passes it once is off it, who passes it again is back.
        const Duration from = attack.toe_off() - line_before;
        result.off_line =
            std::count_if(line_.begin(), line_.end(), [&](Duration at) { return at >= from && at <= first.at; }) % 2 ==
            1;
    }
    if (has_near_ && drill.asks.out_within > Duration{} && first.at >= attack.toe_off() - attack.lead) {
        const Duration deadline = first.at + drill.asks.out_within;
        result.out_in_time = out_of(first.at, deadline, stretch.end);
        if (!result.out_in_time) open_ = Open{result.rep, first.at, deadline};
    }
}

std::optional<bool> rung_hit(const Asks& asks, const RepResult& result) {
    if (result.verdict == Verdict::void_rep || was_feint(result) || result.catch_trial) return std::nullopt;
    const bool good = is_good(result.verdict);
    if (asks.rung == RungAim::edge)
        return good && result.edge_to_contact && *result.edge_to_contact <= asks.edge_within;
    if (asks.rung == RungAim::leave) return good && result.out_in_time.value_or(false);
    if (result.asked.then_pads != 0) return good && result.followed_up.value_or(false);
    if (asks.off_line && result.off_line) return good && *result.off_line;
    return std::nullopt;
}

bool kept_its_range(const Attack& attack, const Stretch& stretch) {
    if (stretch.zone_at(attack.toe_off()) != Zone::between) return false;
    Duration down = attack.end();
    for (std::size_t i = 0; i < attack.phases.size(); ++i) {
        const Phase phase = attack.phases[i].phase;
        if (phase != Phase::gap && stretch.inside_during(attack.onsets[i].at, attack.onsets[i + 1].at)) return false;
        if (phase == Phase::gap) down = attack.onsets[i].at;
    }
    if (stretch.zone_at(down) == Zone::between) return true;
    return std::any_of(stretch.zones.begin(), stretch.zones.end(), [&](const ZoneAt& zone) {
        return zone.zone == Zone::between && zone.from >= down && zone.from <= down + home_within;
    });
}

}  // namespace breakstep::scoring
