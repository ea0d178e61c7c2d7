#include "devices/stage/speech.hpp"

#include <algorithm>

#include "report/drawing/limb.hpp"

namespace breakstep {
namespace {

/// An attack that began after `since` counts, and what counts is never written over.
bool overtaken(const StageView& view, HostTime since, HostTime shown_at) {
    return std::any_of(view.attacks.begin(), view.attacks.end(), [&](const StageAttack& attack) {
        const HostTime begins = attack.toe_off - attack.lean;
        return begins > since && begins <= shown_at;
    });
}

/// Another attack is under way than the one the words are of: it counts, and words would hide it.
bool covers_another(const StageView& view, HostTime shown_at) {
    return view.verdict->rep != 0 && std::any_of(view.attacks.begin(), view.attacks.end(), [&](const auto& attack) {
               return attack.rep != view.verdict->rep && attack.toe_off - attack.lean <= shown_at &&
                      shown_at < attack.toe_off + attack.timeline.end();
           });
}

bool in_guard(const StageView& view, HostTime shown_at) {
    const auto now = attack_at(view, shown_at);
    return !now || now->since_toe_off >= now->attack->timeline.end() + back_to_guard;
}

std::optional<double> strength_at(HostTime since, Duration whole, HostTime shown_at) {
    const Duration shown = shown_at - since;
    if (shown < Duration{} || shown >= whole + fades_in) return std::nullopt;
    if (shown <= whole) return 1.0;
    return 1.0 - static_cast<double>((shown - whole).count()) / static_cast<double>(fades_in.count());
}

}  // namespace

Speech speech_at(const StageView& view, HostTime shown_at) {
    using What = Speech::What;
    if (view.message) return {What::message, 1};
    if (view.verdict && !overtaken(view, view.verdict->since, shown_at) && !covers_another(view, shown_at))
        if (const auto strength = strength_at(view.verdict->since, shown_whole, shown_at))
            return {What::verdict, *strength};
    if (view.nudge && in_guard(view, shown_at))
        if (const auto strength = strength_at(view.nudge->since, nudge_shown, shown_at))
            if (!overtaken(view, view.nudge->since, shown_at)) return {What::nudge, *strength};
    if (!in_guard(view, shown_at)) return {};
    // Once it has come the beat is over.
    if (view.lure && !attack_at(view, shown_at)) return {What::lure, 1};
    if (view.count) return {What::count, 1};
    if (!view.prompt.empty()) return {What::prompt, 1};
    return {};
}

std::optional<AttackNow> attack_at(const StageView& view, HostTime shown_at) {
    const StageAttack* last = nullptr;
    for (const StageAttack& attack : view.attacks)
        if (attack.toe_off <= shown_at && (last == nullptr || attack.toe_off >= last->toe_off)) last = &attack;
    if (last == nullptr) return std::nullopt;
    return AttackNow{last, shown_at - last->toe_off};
}

double lean_at(const StageView& view, HostTime shown_at) {
    double most = 0;
    for (const StageAttack& attack : view.attacks) {
        if (attack.lean <= Duration{}) continue;
        const HostTime begins = attack.toe_off - attack.lean, over = attack.toe_off + attack.timeline.end();
        if (shown_at < begins || shown_at >= over + back_to_guard) continue;
        const Duration risen = std::min(shown_at, over) - begins;
        double lean = eased_share(risen, lean_rises);
        if (shown_at > over) lean *= 1 - eased_share(shown_at - over, back_to_guard);
        most = std::max(most, lean);
    }
    return most;
}

std::optional<Duration> watched_at(const StageTask& task, HostTime shown_at) {
    if (!task.watch_since) return std::nullopt;
    const Duration since = shown_at - *task.watch_since - before_watching;
    if (since < Duration{} || since >= watched_slower * (task.attack.end() + back_to_guard)) return std::nullopt;
    return since / watched_slower;
}

int lamps_lit(const StageCount& count, HostTime shown_at) {
    if (shown_at < count.begin) return 0;
    if (count.step <= Duration{}) return count_lamps;
    return static_cast<int>(std::min<std::int64_t>(count_lamps, (shown_at - count.begin) / count.step + 1));
}

}  // namespace breakstep
