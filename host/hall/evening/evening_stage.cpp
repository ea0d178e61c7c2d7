#include "hall/evening/evening_stage.hpp"

#include <algorithm>

namespace breakstep {

using namespace evening;

namespace {

int minutes_of(Duration length) { return static_cast<int>(std::chrono::ceil<std::chrono::minutes>(length).count()); }

std::string prompt_of(const EveningView& evening) {
    if (evening.over) return "";
    if (evening.paused) return "Pause.";
    if (evening.kind != BlockKind::rounds || evening.next.empty()) return "";
    return "Strike a pad for your task.";
}

/// The hall's own block: what everybody does now, its clock, what to move on the rig meanwhile, what comes then.
StageView hall_block(const EveningView& evening, const std::string& club, HostTime now) {
    StageView view;
    view.screen = StageScreen::block;
    view.turns.club = club;
    StageBlock& block = view.block;
    block.name = evening.block;
    block.rig = evening.gates_to_move;
    block.end = now + evening.block_left;
    block.begin = now;
    const auto runs =
        std::find_if(evening.blocks.begin(), evening.blocks.end(), [](const BlockSeen& each) { return each.done < 1; });
    if (runs != evening.blocks.end()) {
        block.begin = block.end - runs->length;
        if (runs + 1 != evening.blocks.end()) block.next = (runs + 1)->title;
    }
    if (!evening.rig_here) view.message = StageMessage{"The rig does not answer.", "Check the cable."};
    return view;
}

}  // namespace

StageView between_turns(const EveningView& evening, const std::string& club, HostTime now) {
    const bool of_the_hall = !evening.over && evening.kind != BlockKind::rounds && !evening.block.empty();
    if (of_the_hall) return hall_block(evening, club, now);
    StageView view;
    view.screen = StageScreen::turns;
    StageTurns& turns = view.turns;
    turns.club = club;
    const bool rounds = evening.kind == BlockKind::rounds && !evening.block.empty();
    // The hall's block stands where a name would: it is what everybody does now.
    turns.next = rounds ? evening.next : evening.block;
    turns.drill = evening.over ? "The evening is over." : rounds ? evening.gates_to_move : "";
    turns.prompt = prompt_of(evening);
    for (std::size_t i = rounds ? 1 : 0; i < evening.follows.size(); ++i)
        turns.follows.push_back(
            {evening.follows[i].athlete, evening.follows[i].wait_minutes, evening.follows[i].gates});
    for (const BlockSeen& block : evening.blocks)
        turns.evening.push_back({block.title, std::max(1, minutes_of(block.length)), block.done});
    turns.minutes_left = minutes_of(evening.block_left);
    if (!evening.rig_here) view.message = StageMessage{"The rig does not answer.", "Check the cable."};
    return view;
}

void decorate(StageView& view, const EveningView& evening, const std::string& legend) {
    if (view.screen == StageScreen::rest) {
        view.rest.next = evening.next;
        view.rest.then = evening.follows.size() > 1 ? evening.follows[1].athlete : "";
        view.rest.end = view.rest.begin;  // the rest is somebody else's set: no countdown
        if (view.prompt.empty()) view.prompt = prompt_of(evening);
    }
    if (view.screen == StageScreen::summary) {
        view.summary.next = evening.next;
        view.summary.then = evening.follows.size() > 1 ? evening.follows[1].athlete : "";
        view.summary.prompt = prompt_of(evening);
    }
    if (view.screen == StageScreen::task) {
        if (evening.paused) view.task.prompt = "Pause.";
        if (!evening.gates_to_move.empty()) view.task.caution = "On the rig first: " + evening.gates_to_move;
    }
    if (view.screen == StageScreen::live && !view.prompt.empty()) {
        if (evening.paused) view.prompt = "Pause.";
        if (!evening.gates_to_move.empty()) view.notice = evening.gates_to_move;
    }
    const bool plays = (view.screen == StageScreen::live && view.prompt.empty()) || view.screen == StageScreen::task ||
                       view.screen == StageScreen::block || view.screen == StageScreen::pairs;
    if (!plays && view.notice.empty()) view.notice = legend;
}

}  // namespace breakstep
