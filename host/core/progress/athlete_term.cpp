#include "core/progress/athlete_term.hpp"

namespace breakstep::progress {

Interval Share::interval() const {
    const auto wilson = reading::wilson(hits, of);
    return {wilson.low, wilson.high};
}

std::string_view word(Answer answer) {
    switch (answer) {
        case Answer::meeting_the_lift:
            return "meeting the lift";
        case Answer::the_gap:
            return "the gap";
        case Answer::the_drop:
            return "the drop";
        case Answer::going_around:
            return "going around";
        case Answer::after_giving_ground:
            return "after giving ground";
        case Answer::at_once:
            return "at once";
        case Answer::drop_or_gap:
            return "drop or gap";
        case Answer::leading:
            return "leading";
    }
    return "";
}

}  // namespace breakstep::progress
