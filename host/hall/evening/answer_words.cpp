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
            return "there is no rep yet that could be: none was made, or its turn is over";
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
        case Why::one_for_all:
            return "this block has one drill for all, and so have all that follow";
        case Why::no_partner:
            return "no partner is cued in this drill";
        case Why::no_such_attack:
            return "the partner is not asked that in this drill";
        case Why::list_full:
            return "twelve are listed already";
        case Why::no_such_block:
            return "no block that is still to come, or minutes from 1 to 240";
    }
    return "";
}

}  // namespace

std::string words_of(const Answer& answer) {
    if (answer.kind == AnswerKind::taken)
        return answer.why == Why::one_for_all ? "taken for later blocks: this one has one drill for all" : "taken";
    return std::string(answer.kind == AnswerKind::refused ? "refused: " : "too late: ") + reason_of(answer.why);
}

}  // namespace breakstep
