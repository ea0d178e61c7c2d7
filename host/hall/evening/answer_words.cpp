// What the evening answers to a request, in words.
#include "hall/evening/evening_view.hpp"

namespace breakstep {

using namespace evening;

namespace {

const char* reason_of(Why why) {
    switch (why) {
        case Why::none:
            return "";
        case Why::over:
            return "the evening has ended";
        case Why::no_turn:
            return "nobody is at the rig";
        case Why::set_runs:
            return "the set has begun";
        case Why::not_here:
            return "no such athlete is here";
        case Why::is_called:
            return "it is that athlete's turn anyway";
        case Why::is_here:
            return "is among the turns already";
        case Why::paused_already:
            return "it is a pause already";
        case Why::not_paused:
            return "there is no pause";
        case Why::no_rep:
            return "there is no rep yet";
        case Why::void_so:
            return "it is void already";
        case Why::not_void:
            return "it is not void";
        case Why::no_set:
            return "no set was made yet";
        case Why::rig_has_next:
            return "the next athlete's set has begun";
        case Why::not_tapped:
            return "no attack waits for a tap just now";
        case Why::no_such_drill:
            return "there is no such drill";
        case Why::no_words:
            return "a note needs words";
    }
    return "";
}

}  // namespace

std::string words_of(const Answer& answer) {
    if (answer.kind == AnswerKind::taken) return "taken";
    return std::string(answer.kind == AnswerKind::refused ? "refused: " : "too late: ") + reason_of(answer.why);
}

}  // namespace breakstep
