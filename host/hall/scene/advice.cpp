#include "hall/scene/advice.hpp"

#include <fmt/format.h>

namespace breakstep {
namespace {

std::string counted(int count, const char* one, const char* many) {
    return fmt::format("{} {}", count, count == 1 ? one : many);
}

double seconds(Duration duration) { return static_cast<double>(duration.count()) * 1e-9; }

/// Where the clashes fell: while the leg went up, or how long before the hip line.
std::string where_clashed(const SetAdvice& advice) {
    const std::string what = counted(advice.count, "clash", "clashes");
    if (2 * advice.rising > advice.count) return fmt::format("{}, {} while it went up.", what, advice.rising);
    if (!advice.least_before_line || !advice.most_before_line) return what + ".";
    const std::string least = fmt::format("{:.2f}", seconds(*advice.least_before_line));
    const std::string most = fmt::format("{:.2f}", seconds(*advice.most_before_line));
    return fmt::format("{}, {} s before the hip line.", what, least == most ? most : least + " to " + most);
}

std::string_view line_of(AdviceKind kind) {
    switch (kind) {
        case AdviceKind::none:
            return "";
        case AdviceKind::stay_outside:
            return "Stay one step outside until you strike.";
        case AdviceKind::arrive_in_the_drop:
            return "Start while it is up, arrive as it drops.";
        case AdviceKind::before_the_hands:
            return "Arrive as the foot lands, before the hands.";
        case AdviceKind::take_the_drop:
            return "Too late for the lift: take the drop.";
        case AdviceKind::as_it_lifts:
            return "You know when it comes: strike as it lifts.";
        case AdviceKind::start_once_up:
            return "Start only once the leg is up.";
        case AdviceKind::until_it_moves:
            return "Hold until it moves.";
        case AdviceKind::as_the_foot_lands:
            return "A little later: arrive as the foot lands.";
        case AdviceKind::start_sooner:
            return "Start sooner, while it is up.";
        case AdviceKind::before_it_goes_on:
            return "Start sooner: arrive as the foot lands.";
        case AdviceKind::stay_in_reach:
            return "Stay before the far mark, and answer.";
        case AdviceKind::step_in:
            return "Step in with the hand.";
        case AdviceKind::choose_the_pad:
            return "Choose the pad first.";
        case AdviceKind::answer_each:
            return "Answer every attack.";
        case AdviceKind::out_at_once:
            return "Out again at once, before the next.";
        case AdviceKind::strike_again:
            return "Two strikes: the second at once, where it is asked.";
        case AdviceKind::off_the_line:
            return "Off the line as you strike.";
        case AdviceKind::home_first:
            return "Stand between the marks, in reach of one step.";
        case AdviceKind::keep_room:
            return "Keep room behind you: stand further in.";
        case AdviceKind::shorter_back:
            return "Two short steps back, then answer.";
        case AdviceKind::make_it_come:
            return "Make it come: do what draws it.";
        case AdviceKind::lead_from_outside:
            return "Out again before they reach the edge.";
        case AdviceKind::press_back:
            return "Press them back: in and out until they stop.";
        case AdviceKind::change_pace:
            return "Good. Now step in sooner, then later.";
        case AdviceKind::same_again:
            return "Good. The same again.";
        case AdviceKind::keep_at_it:
            return "No one fault stands out.";
    }
    return "";
}

std::string reason_of(const SetAdvice& advice) {
    switch (advice.kind) {
        case AdviceKind::none:
            return "";
        case AdviceKind::stay_outside:
            return counted(advice.count, "time", "times") + " inside the near mark while the leg was up.";
        case AdviceKind::arrive_in_the_drop:
            return where_clashed(advice);
        case AdviceKind::before_the_hands:
            return counted(advice.count, "clash", "clashes") + " with the hands.";
        case AdviceKind::take_the_drop:
        case AdviceKind::as_it_lifts:
            return counted(advice.count, "strike", "strikes") + " after the lift.";
        case AdviceKind::start_once_up:
            return counted(advice.count, "feint", "feints") + " taken.";
        case AdviceKind::until_it_moves:
            return counted(advice.count, "strike", "strikes") + " before anything came.";
        case AdviceKind::as_the_foot_lands:
            return counted(advice.count, "strike", "strikes") + " before the foot was down.";
        case AdviceKind::start_sooner:
            return counted(advice.count, "strike", "strikes") + " after the drop.";
        case AdviceKind::before_it_goes_on:
            return counted(advice.count, "strike", "strikes") + " after the gap.";
        case AdviceKind::stay_in_reach:
            return counted(advice.count, "time", "times") + " beyond the far mark as the foot landed.";
        case AdviceKind::step_in:
            return counted(advice.count, "time", "times") + " no step inside the near mark.";
        case AdviceKind::choose_the_pad:
            return counted(advice.count, "strike", "strikes") + " on another pad.";
        case AdviceKind::answer_each:
            return counted(advice.count, "attack", "attacks") + " without an answer.";
        case AdviceKind::out_at_once:
            return counted(advice.count, "time", "times") + " still in reach after the strike.";
        case AdviceKind::strike_again:
            return counted(advice.count, "strike", "strikes") + " without the second.";
        case AdviceKind::off_the_line:
            return counted(advice.count, "strike", "strikes") + " from the line of attack.";
        case AdviceKind::home_first:
            return counted(advice.count, "time", "times") + " beyond the far mark as it lifted.";
        case AdviceKind::keep_room:
            return counted(advice.count, "time", "times") + " behind the back mark as it lifted.";
        case AdviceKind::shorter_back:
            return counted(advice.count, "time", "times") + " more ground given before the answer.";
        case AdviceKind::make_it_come:
            return counted(advice.count, "attack", "attacks") + " came by themselves.";
        case AdviceKind::lead_from_outside:
            return counted(advice.count, "time", "times") + " inside the near mark as they reached it.";
        case AdviceKind::press_back:
            return counted(advice.count, "attack", "attacks") + " from the middle of their room.";
        case AdviceKind::change_pace:
        case AdviceKind::same_again:
        case AdviceKind::keep_at_it:
            return fmt::format("{} of {} on time.", advice.count, advice.of);
    }
    return "";
}

std::string_view line_of_room(AdviceKind kind) {
    if (kind == AdviceKind::stay_outside) return "Stay between the marks until it has landed.";
    if (kind == AdviceKind::stay_in_reach) return "Not so far back: home as it lands.";
    return line_of(kind);
}

std::string reason_of_room(const SetAdvice& advice) {
    if (advice.kind == AdviceKind::stay_outside) return reason_of(advice);
    if (advice.kind == AdviceKind::stay_in_reach)
        return counted(advice.count, "time", "times") + " not between the marks in time.";
    return fmt::format("{} of {} out and home in time.", advice.count, advice.of);
}

}  // namespace

Advice words_of(const SetAdvice& advice, bool child) {
    std::string reason = advice.room ? reason_of_room(advice) : reason_of(advice);
    if (child) reason = advice.best_run >= 2 ? fmt::format("Best run: {} good ones in a row.", advice.best_run) : "";
    return {std::string(advice.room ? line_of_room(advice.kind) : line_of(advice.kind)), std::move(reason)};
}

}  // namespace breakstep
