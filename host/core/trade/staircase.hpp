// A level that follows the athlete, rep by rep: weighted up-down (Kaernbach 1991). The level is the window of a moment
// in which a strike is on time, a share of it around its middle. A hit makes it narrower by one step, a miss wider by
// p / (1 - p) such steps: where p of the strikes hit, it stays. Steps are of the logarithm, so that a narrow window
// moves as finely as a wide one.
//
// A value; owned by conduct; one thread; fixed memory; can't fail. A share outside [0.5, 0.95] is held to it.
#pragma once

#include <cstdint>

namespace breakstep {

class Staircase {
  public:
    /// `share` of the strikes that are to hit; `first` as it begins, held to the window's own range.
    Staircase(double share, double first);

    void add(bool hit);
    /// 1 down to 0.4.
    [[nodiscard]] double window() const { return window_; }

  private:
    double share_, window_;
};

/// The pace of the next set (every length is scaled by it: above 1 slower, easier) after one in which `hits` of `reps`
/// at a level that follows were on time and the window came to stand at `window`. It moves only where the window can't:
/// quicker where the window stands at its narrowest, slower where it stands at its widest and too few hit.
[[nodiscard]] double pace_after(double pace, double window, double share, std::int32_t hits, std::int32_t reps);

}  // namespace breakstep
