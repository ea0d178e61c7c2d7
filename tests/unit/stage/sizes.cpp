// How large every word of every screen is, from where people stand, and in which colours it stands.
#include <doctest/doctest.h>

#include <cmath>
#include <map>
#include <string>

#include "report/drawing/text.hpp"
#include "unit/stage/every_view.hpp"

using namespace breakstep;
using namespace pixels;

namespace {

/// Least sizes, in percent of the screen's height: what is acted on; words in strips; numbers at an axis.
double least_of(TextRole role) {
    switch (role) {
        case TextRole::acted:
            return 4.2;
        case TextRole::strip:
            return 3.1;
        case TextRole::axis:
            return 2.8;
    }
    return 4.2;
}

std::vector<SeenText> seen_in(const NamedView& named, StageSize size, Theme theme) {
    const TextWitness witness;
    static_cast<void>(stage(named.view, start + named.at, size, theme));
    return witness.seen();
}

/// Minutes of arc of a small letter at four metres, on a screen of 16 to 9 with that diagonal. Inter's x-height is .546
/// of its em.
double arc_minutes(double percent, double inches) {
    const double height = inches * 0.0254 * 9 / std::hypot(16.0, 9.0);
    return std::atan(percent / 100 * height * 0.546 / 4) * 180 / 3.14159265358979 * 60;
}

constexpr StageSize sizes[] = {{1280, 720}, {1366, 768}, {1920, 1080}};

}  // namespace

TEST_CASE("every word of every screen is large enough for what it is for") {
    std::map<TextRole, double> smallest;
    for (const StageSize size : sizes)
        for (const NamedView& named : every_view()) {
            CAPTURE(named.name);
            const auto seen = seen_in(named, size, Theme::dark_hall);
            CHECK(seen.size() >= 3);
            for (const SeenText& text : seen) {
                CAPTURE(text.text);
                // On a screen narrower than 16 to 9 the unit follows the width.
                const double height = std::min<double>(size.height, size.width * 72.0 / 128.0);
                const double percent = 100 * text.size / height;
                CHECK(percent >= least_of(text.role) - 0.005);
                const auto known = smallest.find(text.role);
                if (known == smallest.end() || percent < known->second) smallest[text.role] = percent;
            }
        }
    for (const auto& [role, percent] : smallest) {
        const std::string what = role == TextRole::acted   ? "acted on"
                                 : role == TextRole::strip ? "strip words"
                                                           : "axis";
        MESSAGE(what, ": ", percent, " % of the height; arc minutes at 4 m: ", arc_minutes(percent, 24),
                " on 24 inch, ", arc_minutes(percent, 32), " on 32, ", arc_minutes(percent, 43), " on 43");
    }
}

TEST_CASE("no word of any screen runs over its edges") {
    for (const StageSize size : sizes)
        for (const NamedView& named : every_view())
            for (const SeenText& text : seen_in(named, size, Theme::dark_hall)) {
                CAPTURE(named.name);
                CAPTURE(text.text);
                CHECK(text.left >= 0);
                CHECK(text.right <= size.width);
            }
}

TEST_CASE("every word stands out from the ground, in either hall") {
    for (const Theme theme : {Theme::dark_hall, Theme::bright_hall})
        for (const NamedView& named : every_view())
            for (const SeenText& text : seen_in(named, {1280, 720}, theme)) {
                const Palette& colours = palette(theme);
                CAPTURE(named.name);
                CAPTURE(text.text);
                // WCAG 2.2, 1.4.3: 4.5 to 1, and 3 to 1 for large words, which a verdict's and a moment's are.
                const bool plain = text.colour == colours.text || text.colour == colours.quiet;
                CHECK(contrast(text.colour, colours.ground) >= (plain || text.role != TextRole::acted ? 4.5 : 3.0));
            }
}

TEST_CASE("a cue of a class names nobody, and a change over names both of each pair") {
    const auto names = [](bool change_over) {
        int found = 0;
        for (const SeenText& text : seen_in({"", pairs(change_over, 8), 1s}, {1280, 720}, Theme::dark_hall))
            found += text.text == "Sanderling" || text.text == "Whimbrel" ? 1 : 0;
        return found;
    };
    CHECK(names(true) == 16);
    StageView cue = pairs(false, 8);
    for (PairTile& tile : cue.pairs.tiles) tile.attacks = tile.defends = "Sanderling";
    for (const SeenText& text : seen_in({"", cue, 1s}, {1280, 720}, Theme::dark_hall)) CHECK(text.text != "Sanderling");
}

TEST_CASE("a child's summary holds no count of what failed, and no rep's word") {
    for (const SeenText& text : seen_in({"", summary(true), 0s}, {1280, 720}, Theme::dark_hall)) {
        CAPTURE(text.text);
        CHECK(text.text.find(" of ") == std::string::npos);
        CHECK(text.text.find("last time") == std::string::npos);
        CHECK(text.text != "clash");
    }
}
