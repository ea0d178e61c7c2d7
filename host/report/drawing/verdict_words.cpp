#include "report/drawing/verdict_words.hpp"

namespace breakstep {
namespace {

/// Builds a line of quiet words with bold moments among them.
class Line {
  public:
    explicit Line(const Palette& colours) : colours_(colours) {}

    Line& say(std::string_view words) {
        runs_.push_back({std::string(words), Weight::regular, colours_.quiet});
        return *this;
    }
    Line& name(Moment moment) {
        runs_.push_back({std::string(word(moment)), Weight::bold, colour_of(moment, colours_)});
        return *this;
    }
    [[nodiscard]] std::vector<TextRun> runs() const { return runs_; }

  private:
    const Palette& colours_;
    std::vector<TextRun> runs_;
};

std::optional<Moment> moment_of(std::optional<Phase> phase) {
    if (!phase) return std::nullopt;
    switch (*phase) {
        case Phase::lift:
            return Moment::lift;
        case Phase::gap:
            return Moment::gap;
        case Phase::drop:
            return Moment::drop;
        default:
            return std::nullopt;
    }
}

/// Early and late are said with what was hit instead, where that was a moment too.
Line off_time(Line line, const VerdictFacts& facts, std::string_view otherwise) {
    const auto struck = moment_of(facts.struck);
    if (facts.asked && struck && *struck != *facts.asked)
        return line.say("for ").name(*facts.asked).say(": that was the ").name(*struck);
    // A level that follows narrows the moment: inside it, and still beside what counts.
    if (facts.asked && struck)
        return line.say(otherwise == "before" ? "too soon in the " : "too late in the ").name(*struck);
    if (facts.asked) return line.say(otherwise).say(" the ").name(*facts.asked);
    return line;
}

std::string_view words_for_clash(std::optional<Phase> struck) {
    if (struck == Phase::hands) return "into the hands";
    if (struck == Phase::pull_back) return "the leg was still up";
    return "the leg was up";
}

}  // namespace

std::string_view words_for(VoidReason reason) {
    switch (reason) {
        case VoidReason::none:
            return "does not count";
        case VoidReason::board_reset:
            return "the rig started anew";
        case VoidReason::link_lost:
            return "the rig was away";
        case VoidReason::clock_jump:
            return "a clock jumped";
        case VoidReason::bound_too_wide:
            return "the time was not sure enough";
        case VoidReason::impossible_gates:
            return "the gates can't be right";
        case VoidReason::coach:
            return "the coach's word";
        case VoidReason::lamps_silent:
            return "the lamps did not answer";
        case VoidReason::cue_late:
            return "the cue came late";
        case VoidReason::cue_missing:
            return "the cue did not come";
        case VoidReason::impossible_stamps:
            return "the rig's times ran backwards";
        case VoidReason::impossible_leg:
            return "no leg moves like that";
        case VoidReason::no_attack:
            return "no kick came";
        case VoidReason::other_athlete:
            return "somebody else's set";
    }
    return "does not count";
}

std::string_view child_word(Verdict verdict) {
    return verdict == Verdict::got_hit ? "inside: step out" : word(verdict);
}

std::vector<TextRun> second_line(const VerdictFacts& facts, const Palette& colours) {
    Line line(colours);
    switch (facts.verdict) {
        case Verdict::on_time:
            if (facts.asked) line.say("in the ").name(*facts.asked);
            break;
        case Verdict::around:
            line.say("under the held leg");
            break;
        case Verdict::clash:
            line.say(words_for_clash(facts.struck));
            break;
        case Verdict::early:
            return off_time(line, facts, "before").runs();
        case Verdict::late:
            return off_time(line, facts, "after").runs();
        case Verdict::missed:
            line.say("no contact");
            break;
        case Verdict::wrong_pad:
            if (facts.asked) line.say("in the ").name(*facts.asked);
            break;
        case Verdict::no_step:
            line.say("a hand needs the step in");
            break;
        case Verdict::held:
            line.say(facts.room           ? "out in time, home in time"
                     : facts.nothing_came ? "nothing came"
                                          : "that was a feint");
            break;
        case Verdict::took_the_feint:
            line.say(facts.nothing_came ? "nothing came" : "the foot went back");
            break;
        case Verdict::got_hit:
            line.say("in reach while the leg was up");
            break;
        case Verdict::gave_ground:
            line.say(facts.room && !facts.retreated ? "not between the marks in time" : "beyond the far mark");
            break;
        case Verdict::void_rep:
            line.say(words_for(facts.reason));
            break;
    }
    return line.runs();
}

}  // namespace breakstep
