// What is said under a verdict: the one thing worth knowing about it, in a few words. Moments stand in their colour.
// Pure, any thread, never fails.
#pragma once

#include <optional>
#include <string_view>
#include <vector>

#include "core/trade/vocabulary.hpp"
#include "report/drawing/text.hpp"

namespace breakstep {

struct VerdictFacts {
    Verdict verdict = Verdict::void_rep;
    std::optional<Moment> asked{};  ///< nothing: a feint or a catch trial
    std::optional<Phase> struck{};  ///< the phase of the contact
    VoidReason reason = VoidReason::none;
    bool nothing_came = false;  ///< a catch trial
    bool room = false;          ///< room alone was asked for, and a kick came
    bool retreated = false;     ///< beyond the far mark
};

/// A verdict's word where a child reads it: "inside: step out" says what to do, where "got hit" would not.
[[nodiscard]] std::string_view child_word(Verdict verdict);

/// "the rig was away".
[[nodiscard]] std::string_view words_for(VoidReason reason);

/// "in the drop", "for lift: that was the drop", "the leg was up".
[[nodiscard]] std::vector<TextRun> second_line(const VerdictFacts& facts, const Palette& colours);

}  // namespace breakstep
