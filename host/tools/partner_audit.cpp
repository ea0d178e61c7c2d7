#include "tools/partner_audit.hpp"

#include <algorithm>
#include <map>

#include "core/trade/rules.hpp"

namespace breakstep {
namespace {

// A stamp is never that far from what it stamps.
constexpr Duration one_event = 2ms;

// The phase that holds `at`, by true borders; after the last gap or hands as the rep has it.
Phase true_phase(const AuditedRep& audited, Duration at) {
    Phase phase = Phase::guard;
    for (const LegTruth::Border& border : audited.truth->borders)
        if (border.at - audited.truth->toe_off <= at) phase = border.phase;
    return phase;
}

}  // namespace

PartnerAudit::PartnerAudit(const std::vector<RigTruth>& rig_truths, const PartnerModel& partner)
    : rig_(rig_truths), partner_(partner) {}

std::optional<HostTime> PartnerAudit::true_time(TargetTime at, std::uint16_t sequence) const {
    for (auto truth = rig_.rbegin(); truth != rig_.rend(); ++truth)
        if (truth->boot == at.boot() && truth->event.sequence == sequence) return truth->at;
    return std::nullopt;
}

// A second leg in the same rep goes on with the first; and what is a carry is a matter of what was asked.
LegTruth PartnerAudit::whole_truth(const LegTruth& first, const RepResult& rep) const {
    Duration length{};
    for (const AttackPhase& phase : rep.phases) length += phase.length;
    LegTruth whole = first;
    for (const LegTruth& next : partner_.truths()) {
        if (next.toe_off <= first.toe_off || next.toe_off - first.toe_off >= length) continue;
        whole.borders.insert(whole.borders.end(), next.borders.begin(), next.borders.end());
        whole.second_lifts += next.second_lifts;
        whole.hip_longest = std::max(whole.hip_longest, next.hip_longest);
        const bool hands = whole.came == CameKind::leg_to_hands || next.came == CameKind::leg_to_hands;
        const bool feints = whole.came == CameKind::feint && next.came == CameKind::feint;
        whole.came = hands ? CameKind::leg_to_hands : feints ? CameKind::feint : CameKind::reset;
    }
    const bool plain = whole.came == CameKind::single || whole.came == CameKind::carry;
    const bool asked = rep.told && rep.asked.kind == AttackKind::carry;
    if (plain) whole.came = asked && whole.hip_longest >= carry_from ? CameKind::carry : CameKind::single;
    return whole;
}

std::vector<AuditedRep> PartnerAudit::session(const std::vector<JournalRecord>& records,
                                              const std::vector<RepResult>& reps) {
    std::map<std::int64_t, std::uint16_t> low_breaks;  // by stamp
    std::map<std::int64_t, std::uint16_t> hits;
    std::map<RepId, TargetTime> toe_offs;
    for (const JournalRecord& record : records) {
        if (const auto* edge = std::get_if<GateEdge>(&record.event);
            edge && edge->gate == GateRole::low && edge->broken)
            low_breaks[edge->at.since_boot().count()] = edge->sequence;
        if (const auto* hit = std::get_if<PadHit>(&record.event)) hits[hit->at.since_boot().count()] = hit->sequence;
        if (const auto* seen = std::get_if<PhaseSeen>(&record.event)) toe_offs.try_emplace(seen->rep, seen->at);
    }
    std::vector<AuditedRep> audited;
    for (const RepResult& rep : reps) {
        AuditedRep one{rep, std::nullopt, std::nullopt};
        const auto toe_off = toe_offs.find(rep.rep);
        if (toe_off != toe_offs.end()) {
            const auto edge = low_breaks.find(toe_off->second.since_boot().count());
            const auto when = edge == low_breaks.end() ? std::nullopt : true_time(toe_off->second, edge->second);
            for (const HostTime bounce : partner_.bounces())
                if (when && *when - bounce < one_event && bounce - *when < one_event) ++bounces_as_lift_;
            for (const LegTruth& truth : partner_.truths())
                if (when && *when - truth.toe_off < one_event && truth.toe_off - *when < one_event)
                    one.truth = whole_truth(truth, rep);
            if (one.truth && rep.contact_from_onset) {
                // Durations of a result are scaled to host seconds: the nearest hit is its own.
                const std::int64_t about = (toe_off->second.since_boot() + *rep.contact_from_onset).count();
                auto hit = hits.lower_bound(about - one_event.count());
                if (hit != hits.end() && hit->first <= about + one_event.count())
                    if (const auto struck = true_time(toe_off->second, hit->second))
                        one.contact = *struck - one.truth->toe_off;
            }
        }
        audited.push_back(std::move(one));
    }
    return audited;
}

void PartnerAudit::add_to(PartnerFigures& figures, const std::vector<AuditedRep>& reps) const {
    figures.bounces += partner_.bounces().size();
    figures.bounces_as_lift += bounces_as_lift_;
    for (const AuditedRep& audited : reps) {
        const RepResult& rep = audited.rep;
        ++figures.reps;
        if (rep.verdict == Verdict::void_rep) ++figures.voids;
        if (const auto did = obeyed(rep)) {
            ++figures.asked;
            figures.obeyed += *did ? 1 : 0;
        }
        if (!audited.truth) continue;
        ++figures.kicked;
        const LegTruth& truth = *audited.truth;
        ++figures.kinds;
        figures.kinds_right += rep.came == truth.came ? 1 : 0;
        if (rep.verdict == Verdict::void_rep) continue;
        const auto borders = borders_of(rep);
        Duration nearest = Duration::max();
        Uncertainty at_nearest{};
        for (std::size_t i = 0; i < borders.size() && i < truth.borders.size(); ++i) {
            const Duration off = borders[i].at - (truth.borders[i].at - truth.toe_off);
            const Duration size = off < Duration{} ? -off : off;
            // Of a coach's tap nothing is stated, so nothing can be within it, nor anything away from it.
            const bool stated = borders[i].uncertainty != unknown_uncertainty;
            const Duration bound = stated ? Duration(borders[i].uncertainty) : Duration::max();
            figures.borders_unstated += stated ? 0 : 1;
            if (stated) {
                ++figures.borders;
                figures.borders_inside += borders[i].phase == truth.borders[i].phase && size <= bound ? 1 : 0;
                figures.worst_border_us = std::max(figures.worst_border_us, static_cast<double>(size.count()) / 1e3);
            }
            if (!audited.contact) continue;
            const Duration gap = *audited.contact - (truth.borders[i].at - truth.toe_off);
            const Duration distance = gap < Duration{} ? -gap : gap;
            if (distance < nearest) {
                nearest = distance;
                at_nearest = bound;
            }
        }
        if (truth.second_lifts > 0) {
            ++figures.second_lifts;
            // One drop for each time the foot came down, none more.
            const auto drops = [](const auto& list) {
                return std::count_if(list.begin(), list.end(), [](const auto& b) { return b.phase == Phase::drop; });
            };
            figures.second_lifts_as_drop += drops(borders) > drops(truth.borders) ? 1 : 0;
        }
        if (!audited.contact || !rep.contact_from_onset || borders.size() < truth.borders.size()) continue;
        // Past the last border that a gate saw the rep's own rule says how long a gap is.
        const Duration last = truth.borders.back().at - truth.toe_off;
        if (*audited.contact > last && truth.borders.back().phase != Phase::guard) {
            const bool in_it = rep.phase == truth.borders.back().phase || rep.phase == Phase::guard;
            if (nearest <= at_nearest) {
                ++figures.contacts_near;
                continue;
            }
            ++figures.contacts;
            figures.right_phase += in_it ? 1 : 0;
            continue;
        }
        const Uncertainty pad = rep.uncertainty == unknown_uncertainty ? Uncertainty{} : rep.uncertainty;
        if (nearest <= std::max(at_nearest, pad)) {
            ++figures.contacts_near;
            continue;
        }
        ++figures.contacts;
        figures.right_phase += rep.phase == true_phase(audited, *audited.contact) ? 1 : 0;
    }
}

}  // namespace breakstep
