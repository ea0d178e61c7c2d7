#include "hall/scene/pairs_view.hpp"

#include <fmt/format.h>

namespace breakstep {
namespace {

HostTime at(Duration since) { return HostTime(since); }

StagePairs change_over(const PairsClass& given, const PairsRound& round, bool first) {
    StagePairs shown;
    shown.change_over = true;
    shown.words = first ? "Who attacks first?" : "Change over.";
    shown.begin = at(round.change_from);
    shown.end = at(round.begin);
    for (std::size_t i = 0; i < given.names.size(); ++i) {
        const auto& [one, other] = given.names[i];
        PairTile tile;
        tile.place = static_cast<int>(i) + 1;
        tile.attacks = round.first_attacks ? one : other;
        tile.defends = round.first_attacks ? other : one;
        shown.tiles.push_back(std::move(tile));
    }
    return shown;
}

/// Without a name: who attacks and defends is theirs to know.
StagePairs cue_of(const PairsClass& given, const PairsRound& round, std::size_t index) {
    const PairsCue& cue = round.cues[index];
    StagePairs shown;
    const double seconds = static_cast<double>((cue.until - cue.at).count()) * 1e-9;
    shown.words = fmt::format("Any time in {:.0f} s: attack", seconds);
    shown.cue = static_cast<int>(index) + 1;
    shown.cues = static_cast<int>(round.cues.size());
    shown.begin = at(cue.at);
    shown.end = at(cue.until);
    for (std::size_t i = 0; i < cue.attacks.size(); ++i) {
        PairTile tile;
        tile.place = static_cast<int>(i) + 1;
        tile.kind = given.drill.attacks[static_cast<std::size_t>(cue.attacks[i])].kind;
        shown.tiles.push_back(tile);
    }
    return shown;
}

StagePairs wait_of(const PairsClass& given, const PairsRound& round, Duration from, std::size_t done) {
    StagePairs shown;
    shown.words = "Back, and wait.";
    shown.cue = static_cast<int>(done);
    shown.cues = static_cast<int>(round.cues.size());
    // No time stands: nobody is to count the wait down.
    shown.begin = shown.end = at(from);
    for (std::size_t i = 0; i < given.names.size(); ++i) {
        PairTile tile;
        tile.place = static_cast<int>(i) + 1;
        tile.holds = true;
        shown.tiles.push_back(tile);
    }
    return shown;
}

}  // namespace

std::vector<PairsStep> steps_of(const PairsClass& given) {
    std::vector<PairsStep> steps;
    bool first = true;
    for (const PairsRound& round : given.rounds) {
        steps.push_back({round.change_from, !first, change_over(given, round, first)});
        first = false;
        steps.push_back({round.begin, true, wait_of(given, round, round.begin, 0)});
        for (std::size_t i = 0; i < round.cues.size(); ++i) {
            steps.push_back({round.cues[i].at, false, cue_of(given, round, i)});
            steps.push_back({round.cues[i].until, false, wait_of(given, round, round.cues[i].until, i + 1)});
        }
    }
    if (!given.rounds.empty()) {
        const PairsRound& last = given.rounds.back();
        PairsStep over{last.end, true, wait_of(given, last, last.end, last.cues.size())};
        over.shown.words = "That was it.";
        over.shown.tiles.clear();
        steps.push_back(std::move(over));
    }
    return steps;
}

StageView pairs_view(const PairsStep& step, HostTime began) {
    StageView view;
    view.screen = StageScreen::pairs;
    view.pairs = step.shown;
    view.pairs.begin = began + step.shown.begin.time_since_epoch();
    view.pairs.end = began + step.shown.end.time_since_epoch();
    return view;
}

}  // namespace breakstep
