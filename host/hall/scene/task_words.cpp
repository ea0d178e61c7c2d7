#include "hall/scene/task_words.hpp"

namespace breakstep {
namespace {

constexpr PadSet high_pads = pad_bit(PadRole::high_left) | pad_bit(PadRole::high_right);
constexpr PadSet low_pads = pad_bit(PadRole::low_left) | pad_bit(PadRole::low_right);

std::string when_to_strike(const StageTask& task) {
    if (task.around) return "spin under the leg while it is held";
    constexpr MomentSet lift = moment_bit(Moment::lift), gap = moment_bit(Moment::gap), drop = moment_bit(Moment::drop);
    switch (task.moments) {
        case lift:
            return task.leans ? "strike as it leans and lifts" : "strike as the foot leaves the floor";
        case gap:
            return "strike when the foot has landed";
        case drop:
            return "strike as the leg comes down";
        case gap | drop:
            return "strike as it comes down or lands";
        case lift | gap:
            return "strike as it lifts, or has landed";
        case lift | drop:
            return "strike as it lifts or comes down";
        default:
            return "strike while the leg is below the line";
    }
}

std::string door(PadSet pads) {
    if (pads == high_pads) return "Open the door high";
    return pads == low_pads ? "Open the door low" : "Strike to open the door";
}

/// How the attack is asked for; empty where it comes by itself.
std::string what_draws_it(const Drill& drill) {
    const auto only = [&](DrewBy act) {
        Manners alone;
        alone.draw_by(act);
        return drill.manners.draws == alone.draws && drill.manners.draws_too == alone.draws_too;
    };
    if (drill.start == StartKind::hunted) return "It times your steps in: ";
    if (drill.start == StartKind::tapped) return "When the coach taps it comes: ";
    if (drill.start != StartKind::drawn) return "";
    if (only(DrewBy::entry)) return "Step in and it comes: ";
    if (only(DrewBy::ground_given_twice)) return "Back twice, then ";
    if (only(DrewBy::strike)) return door(drill.manners.door_pads) + ", then ";
    if (only(DrewBy::change_of_pace)) return "Change your pace, then ";
    if (only(DrewBy::hand_shown)) return "Show your hand, then ";
    if (only(DrewBy::hand_hidden)) return "Take your hand away, then ";
    return "Draw it out, then ";
}

/// Where the second strike lands: the drawing shows the first one's pads.
std::string strike_again(PadSet pads) {
    if (pads == high_pads) return ", then high at once";
    return pads == low_pads ? ", then low at once" : ", then again at once";
}

std::string what_follows(const Drill& drill) {
    for (const AttackChoice& each : drill.attacks)
        if (each.then_pads != 0) return strike_again(each.then_pads);
    if (drill.start == StartKind::countered) return ", and out: it answers";
    return drill.asks.out_within > Duration{} ? ", and out" : "";
}

}  // namespace

std::string task_words(const Drill& drill, const StageTask& task) {
    if (!task.strikes) return "Between the marks while it is up, home as it lands.";
    if (drill.start == StartKind::lure) return "Set a beat. Once it follows, strike ahead of it.";
    if (drill.asks.rung == RungAim::edge) return "In and out: lead them to their edge, then answer.";
    if (drill.start == StartKind::free) return "Step in as you like, and answer each kick.";
    if (drill.start == StartKind::coin) return "Step in when you would. It may kick, or not.";
    std::string words = what_draws_it(drill);
    if (drill.asks.off_line) words += "step off the line and ";
    words += when_to_strike(task) + what_follows(drill) + ".";
    words.front() =
        static_cast<char>(words.front() >= 'a' && words.front() <= 'z' ? words.front() - 'a' + 'A' : words.front());
    return words;
}

}  // namespace breakstep
