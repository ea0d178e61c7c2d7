// A lure as it is played: the athlete's steps in since the last attack, where the next is expected, and, once the
// opponent has committed to that, how far ahead of it the athlete came.
//
// Owned by Score, in drills that start so; its thread; in the order of arrival; bounded memory; can't fail. The test is
// the plain one (reading/tempo_test.hpp), begun anew after each attack: what was set before it is over.
#pragma once

#include <optional>
#include <vector>

#include "core/reading/tempo_test.hpp"
#include "core/score/score.hpp"

namespace breakstep::scoring {

class LureWatch {
  public:
    struct Expected {
        std::optional<reading::Window> window;  ///< since this step in
        bool follows = false;                   ///< the beat so far is readable
    };
    Expected entry(TargetTime at);
    /// The opponent committed itself, by the step in before.
    void opened();
    /// What became of it; begins anew.
    [[nodiscard]] LureRead closed(bool contact_in_lift);
    /// Lost events, another boot, a set's end: the beat begins anew.
    void interrupted();

  private:
    std::optional<reading::TempoTest> test_;
    std::vector<Duration> set_;
    std::optional<Duration> breaking_;
    std::optional<TargetTime> last_;
    bool committed_ = false;
};

}  // namespace breakstep::scoring
