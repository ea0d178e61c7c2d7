// No screen of the stage flashes, nor does going from one to the next.
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <vector>

#include "unit/stage/a_set.hpp"
#include "unit/stage/every_view.hpp"

using namespace breakstep;
using namespace pixels;

namespace {

// WCAG 2.2, 2.3.1 and its definition of general flash: a flash is a pair of opposing changes of relative luminance of
// .1 or more, the darker below .8; three a second are allowed, and any number on less than .006 steradian. Ours: two.
// The stage is made to be read at four metres; .006 sr is 8.7 % of a 32-inch screen (.70 x .39 m) at two.
constexpr double large_area = 0.006 * 2 * 2 / (0.70 * 0.39);
constexpr StageSize small{160, 90};
constexpr Duration one_frame = 16'666'667ns;

/// One pixel's changes of relative luminance: those of .1 or more that go the other way than the one before.
class Flicker {
  public:
    void see(double luminance, int frame) {
        if (extreme_ < 0) extreme_ = luminance;
        const double change = luminance - extreme_;
        const int way = change > 0 ? 1 : -1;
        const bool counts = std::abs(change) >= 0.1 && std::min(luminance, extreme_) < 0.8;
        if (counts && way != direction_) {
            direction_ = way;
            turns_.push_back(frame);
        }
        if (way == direction_) extreme_ = luminance;
    }
    [[nodiscard]] int turns_since(int frame) const {
        int count = 0;
        for (const int turn : turns_) count += turn > frame ? 1 : 0;
        return count;
    }

  private:
    double extreme_ = -1;
    int direction_ = 0;
    std::vector<int> turns_;
};

/// Sixty frames a second, one after the other, every pixel by itself.
class Flashes {
  public:
    /// The share of the picture that flashed more than twice in the last second.
    double large_after(const Picture& picture) {
        flicker_.resize(picture.pixels.size());
        std::size_t flashing = 0;
        for (std::size_t i = 0; i < flicker_.size(); ++i) {
            flicker_[i].see(relative_luminance(picture.at(i)), frame_);
            flashing += flicker_[i].turns_since(frame_ - 60) > 4 ? 1 : 0;  // more than two pairs
        }
        ++frame_;
        return static_cast<double>(flashing) / static_cast<double>(flicker_.size());
    }

  private:
    std::vector<Flicker> flicker_;
    int frame_ = 0;
};

}  // namespace

TEST_CASE("no large part of the stage goes up and down in brightness more than twice a second") {
    for (const Theme theme : {Theme::dark_hall, Theme::bright_hall}) {
        const Set set = a_set(11);
        Flashes flashes;
        int frames = 0;
        for (HostTime now = start; now < set.attacks.back().toe_off + 2s; now += one_frame, ++frames)
            REQUIRE(flashes.large_after(stage(view_at(set, now), now, small, theme)) < large_area);
        CHECK(frames > 600);
    }
}

TEST_CASE("the flicker meter of this test counts a blinking lamp and passes over a fading one") {
    Flicker blinking;
    Flicker fading;
    Flicker faint;
    for (int frame = 0; frame < 60; ++frame) {
        blinking.see(frame / 10 % 2 == 0 ? 0.5 : 0.1, frame);
        fading.see(frame / 60.0, frame);
        faint.see(frame / 10 % 2 == 0 ? 0.10 : 0.19, frame);
    }
    CHECK(blinking.turns_since(-1) == 5);
    CHECK(fading.turns_since(-1) == 1);
    CHECK(faint.turns_since(-1) == 0);
}

TEST_CASE("no screen flashes, shown for two seconds after any other, the flash of a film among them") {
    for (const Theme theme : {Theme::dark_hall, Theme::bright_hall}) {
        Flashes flashes;
        for (const NamedView& named : every_view()) {
            CAPTURE(named.name);
            StageView view = named.view;
            view.flash = start + named.at + 500ms;
            for (HostTime now = start + named.at; now < start + named.at + 2s; now += one_frame)
                REQUIRE(flashes.large_after(stage(view, now, small, theme)) < large_area);
        }
    }
}

TEST_CASE("screens that follow each other a quarter of a second apart would be told as flashing") {
    // That the test above can fail: the white of a film's flash, four times a second.
    Flashes flashes;
    StageView view = live({});
    double most = 0;
    for (Duration at{}; at < 2s; at += one_frame) {
        view.flash = start + at / 250ms * 250ms;
        view.flash = *view.flash - (at % 250ms < 125ms ? 0ms : 1000ms);
        most = std::max(most, flashes.large_after(stage(view, start + at, small)));
    }
    CHECK(most > large_area);
}
