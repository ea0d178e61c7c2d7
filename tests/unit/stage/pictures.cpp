// Pictures in files, and the strips' layout.
#include "devices/stage/pictures.hpp"

#include <doctest/doctest.h>

#include <array>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <string>

#include "devices/stage/draw_stage.hpp"
#include "report/drawing/figure.hpp"
#include "report/drawing/phase_strip.hpp"
#include "report/drawing/picture_file.hpp"
#include "report/drawing/rhythm_lane.hpp"
#include "report/drawing/shapes.hpp"
#include "report/drawing/text.hpp"
#include "unit/stage/pixels.hpp"

using namespace breakstep;
using namespace pixels;

namespace {

struct Folder {
    std::filesystem::path path;
    Folder() {
        std::string name = (std::filesystem::temp_directory_path() / "breakstep-pictures-XXXXXX").string();
        REQUIRE(mkdtemp(name.data()) != nullptr);
        path = name;
    }
    ~Folder() { std::filesystem::remove_all(path); }
};

std::string first_bytes(const std::filesystem::path& path, std::size_t count) {
    std::ifstream file(path, std::ios::binary);
    std::string bytes(count, '\0');
    file.read(bytes.data(), static_cast<std::streamsize>(count));
    return bytes;
}

std::size_t pixels_of(const Picture& picture, Colour colour) {
    std::size_t count = 0;
    for (std::size_t i = 0; i < picture.pixels.size(); ++i) count += picture.at(i) == colour ? 1 : 0;
    return count;
}

RhythmLane lane() {
    RhythmLane rhythm;
    const Guess guess{750ms, 1050ms};
    rhythm.steps = {{900ms, false, std::nullopt, false},
                    {820ms, false, guess, true},
                    {1400ms, false, guess, false},
                    {300ms, true, std::nullopt, false},
                    {880ms, false, guess, true}};
    rhythm.windows = 3;
    rhythm.caught = 2;
    rhythm.chance = 1;
    rhythm.sign = Sign::tell;
    return rhythm;
}

constexpr int lane_left = 110;

Picture lane_picture(const RhythmLane& rhythm, bool answer = true) {
    return drawn(900, 240, [&](cairo_t* cairo) {
        fill_box(cairo, 0, 0, 900, 240, palette(Theme::dark_hall).ground);
        RhythmLaneLayout layout;
        layout.left = lane_left;
        layout.top = 10;
        layout.width = 500;
        layout.heading = false;
        layout.answer = answer;
        layout.answer_left = 640;
        layout.answer_right = 880;
        draw_rhythm_lane(cairo, rhythm, layout, Theme::dark_hall);
    });
}

Picture strip_picture(const std::vector<StripRep>& reps) {
    return drawn(900, 400, [&](cairo_t* cairo) {
        PhaseStripLayout layout;
        layout.left = 60;
        layout.top = 20;
        layout.width = 600;
        draw_phase_strip(cairo, reps, layout, Theme::dark_hall);
    });
}

}  // namespace

TEST_CASE("the pictures of the README are written, each a file of its kind") {
    const Folder folder;
    StageRest rest;
    rest.advice = "Start while it is up, arrive as it drops.";
    rest.reason = "3 clashes, 0.04 to 0.11 s before the hip line.";
    for (int i = 1; i <= 10; ++i) rest.reps.push_back({i, single(), Verdict::clash, 250ms, 500ms});
    rest.rhythm = lane();
    const StageNudge nudge{"Same beat", Sign::tell, {0ms, 730ms, 1590ms, 2410ms}, {}};
    const auto names = write_pictures(folder.path.string(), rest, nudge);
    REQUIRE_MESSAGE(names, names.error().text());
    CHECK(names->size() == 10 * 2 + 2);
    for (const std::string& name : *names) {
        CAPTURE(name);
        const std::string begin = first_bytes(folder.path / name, 8);
        if (name.ends_with(".png")) CHECK(begin == "\x89PNG\r\n\x1a\n");
        if (name.ends_with(".svg")) CHECK(begin.substr(0, 5) == "<?xml");
        CHECK(std::filesystem::file_size(folder.path / name) > 4000);
    }
}

TEST_CASE("at rest a line of its own says what the choices give away, where they do") {
    StageView view;
    view.screen = StageScreen::rest;
    const auto line = [&] {
        const Picture picture = drawn(1280, 720, [&](cairo_t* cairo) {
            draw_stage(cairo, view, HostTime(), {1280, 720}, Theme::dark_hall);
        });
        std::size_t inked = 0;
        for (std::size_t i = 680UL * 1280; i < picture.pixels.size(); ++i)
            inked += picture.at(i) == palette(Theme::dark_hall).nudge ? 1 : 0;
        return inked;
    };
    CHECK(line() == 0);
    view.rest.read = Sign::tell;
    view.rest.read_words = "after two retreats you go, 8 of 9";
    CHECK(line() > 50);
    view.notice = "One pad is quiet.";  // whoever can mend it goes first
    CHECK(line() == 0);
}

TEST_CASE("a picture can be a PDF, and an unknown ending or an impossible place is refused") {
    const Folder folder;
    const auto nothing = [](cairo_t*) {};
    REQUIRE(write_picture((folder.path / "page.pdf").string(), 595, 842, nothing));
    CHECK(first_bytes(folder.path / "page.pdf", 4) == "%PDF");
    const auto unknown = write_picture((folder.path / "page.gif").string(), 10, 10, nothing);
    REQUIRE_FALSE(unknown);
    CHECK(unknown.error().kind == ErrorKind::bad_input);
    for (const char* name : {"no/such/folder/a.png", "no/such/folder/a.svg", "no/such/folder/a.pdf"}) {
        const auto lost = write_picture((folder.path / name).string(), 10, 10, nothing);
        REQUIRE_FALSE(lost);
        CHECK(lost.error().text().find(name) != std::string::npos);
    }
}

TEST_CASE("a strip shows each phase in its colour, the way from step-in to contact, and the verdict") {
    const Palette& colours = palette(Theme::dark_hall);
    const Picture hit = strip_picture({{1, single(), Verdict::on_time, 300ms, 620ms}});
    CHECK(pixels_of(hit, colours.lift) > 100);
    CHECK(pixels_of(hit, colours.clash) > 100);
    CHECK(pixels_of(hit, colours.drop) > 50);
    CHECK(pixels_of(hit, colours.gap) > 100);
    CHECK(pixels_of(hit, colours.good) > 100);
    const Picture missed = strip_picture({{1, single(), Verdict::missed, std::nullopt, std::nullopt}});
    CHECK(pixels_of(missed, colours.bad) > 20);
    CHECK(pixels_of(missed, colours.good) == 0);
    CHECK(pixels_of(missed, colours.text) < pixels_of(hit, colours.text));
    CHECK(pixels_of(strip_picture({}), colours.lift) == 0);  // no reps: axes alone
    // A feint and a catch trial have no closed phase.
    const Picture feints = strip_picture({{1, feint(240ms, {}), Verdict::held, std::nullopt, std::nullopt},
                                          {2, {}, Verdict::held, std::nullopt, std::nullopt}});
    CHECK(pixels_of(feints, colours.clash) == 0);
    CHECK(pixels_of(feints, colours.held) > 50);
}

TEST_CASE("the axis of a strip holds every attack, up to three seconds") {
    const StripRep usual{1, single(), Verdict::on_time, 300ms, 620ms};
    CHECK(strip_end_for({}) == 1320ms);
    CHECK(strip_end_for({usual}) == 1320ms);
    StripRep late = usual;
    late.contact = 1500ms;
    CHECK(strip_end_for({usual, late}) == 1750ms);
    late.contact = 60s;
    CHECK(strip_end_for({late}) == 3000ms);
}

TEST_CASE("a rhythm lane draws caught step-ins as full dots inside the guess, free ones as rings well off it") {
    const Palette& colours = palette(Theme::dark_hall);
    const Colour ground_of_lane = blend(colours.ground, colours.nudge, 0.34);
    const Picture shown = lane_picture(lane());
    CHECK(pixels_of(shown, ground_of_lane) > 5000);
    CHECK(pixels_of(shown, colours.nudge) > 100);  // "yes"
    // Each in a lane of its own: which rows of pixels are text-coloured, and which belong to the lane.
    const auto rows = [&](const StepIn& step) {
        RhythmLane one;
        one.steps = {step};
        const Picture picture = lane_picture(one, false);
        int first = -1, last = -1, lane_first = -1, lane_last = -1;
        for (int y = 0; y < picture.height; ++y)
            for (int x = lane_left; x < picture.width; ++x) {
                const Colour colour = picture.at(static_cast<std::size_t>(y) * static_cast<std::size_t>(picture.width) +
                                                 static_cast<std::size_t>(x));
                if (colour == colours.text) {
                    if (first < 0) first = y;
                    last = y;
                }
                if (colour == ground_of_lane) {
                    if (lane_first < 0) lane_first = y;
                    lane_last = y;
                }
            }
        return std::array{first, last, lane_first, lane_last};
    };
    const Guess guess{750ms, 1050ms};
    for (const Duration interval : {750ms, 800ms, 900ms, 1049ms}) {
        const auto [first, last, lane_first, lane_last] = rows({interval, false, guess, true});
        CHECK(first >= lane_first);
        CHECK(last <= lane_last);
    }
    for (const Duration interval : {400ms, 740ms, 1060ms, 1300ms}) {
        const auto [first, last, lane_first, lane_last] = rows({interval, false, guess, false});
        const bool sooner = interval < 900ms;
        CHECK((sooner ? last < lane_first : first > lane_last));
    }
    // What lies beyond the drawing stands at its edge with a bar across: it is not the ring alone.
    const auto far_off = rows({3s, false, guess, false}), at_edge = rows({1420ms, false, guess, false});
    CHECK(far_off[1] > at_edge[1]);
    // No guess yet, and an attack that came first: nothing in the words' colour.
    CHECK(rows({900ms, false, std::nullopt, false})[0] == -1);
    CHECK(rows({900ms, true, std::nullopt, false})[0] == -1);
}

TEST_CASE("the lane's edges are told from the ground in every theme, and an empty one is drawn too") {
    for (const Theme theme : {Theme::dark_hall, Theme::bright_hall, Theme::paper, Theme::grey_paper}) {
        const Palette& colours = palette(theme);
        CHECK(contrast(blend(colours.ground, colours.nudge, 0.66), colours.ground) >= 3);
    }
    CHECK(pixels_of(lane_picture({}), palette(Theme::dark_hall).nudge) == 0);
    RhythmLane many;
    for (int i = 0; i < 400; ++i)
        many.steps.push_back({Duration{700'000'000 + i * 1'000'000}, false, Guess{750ms, 1050ms}, i > 50 && i < 350});
    many.windows = 400;
    many.caught = 299;
    many.chance = 500;  // more than there are: the tick stays at the end
    CHECK(pixels_of(lane_picture(many), palette(Theme::dark_hall).text) > 1000);
}

TEST_CASE("a gap is told from guard without any colour") {
    // As a grey picture: what is not ground, whatever its lightness.
    const auto marked = [](Phase phase, Duration at) {
        const FigurePlace place{{100, 60}, 100, 1};
        AttackTimeline attack = single();
        return drawn(300, 200, [&](cairo_t* cairo) {
            FigurePose pose = figure_pose(phase == Phase::guard ? AttackTimeline{} : attack, at);
            CHECK(pose.phase == phase);
            draw_figure(cairo, place, pose, palette(Theme::grey_paper));
        });
    };
    const Picture gap = marked(Phase::gap, 800ms), guard = marked(Phase::guard, 0ms);
    std::size_t differ = 0, below_gap = 0, below_guard = 0;
    const std::uint32_t empty = gap.pixels.front();
    for (std::size_t i = 0; i < gap.pixels.size(); ++i) {
        differ += (gap.pixels[i] == empty) != (guard.pixels[i] == empty) ? 1 : 0;
        if (i / 300 < 160) continue;  // below the floor: the plate under the planted foot
        below_gap += gap.pixels[i] != empty ? 1 : 0;
        below_guard += guard.pixels[i] != empty ? 1 : 0;
    }
    CHECK(differ > 1000);
    CHECK(below_gap > 100);
    CHECK(below_guard == 0);
}

TEST_CASE("words are measured as they are drawn, shrunk and shortened to fit") {
    CHECK((text_family() == "Inter" || text_family() == "DejaVu Sans"));
    const double whole = text_width("Sanderling", 20, Weight::bold);
    CHECK(whole > 60);
    CHECK(text_width("Sanderling", 40, Weight::bold) == doctest::Approx(2 * whole).epsilon(0.01));
    CHECK(text_width("", 20, Weight::bold) == 0);
    CHECK(fitting_size("Sanderling", whole / 2, 20, 4, Weight::bold) == doctest::Approx(10).epsilon(0.02));
    CHECK(fitting_size("Sanderling", 1, 20, 4, Weight::bold) == 4);
    CHECK(shortened("Sanderling", whole + 1, 20, Weight::bold) == "Sanderling");
    const std::string cut = shortened("S\u00e4nderl\u00eeng", whole / 2, 20, Weight::bold);
    CHECK(cut.ends_with("\u2026"));
    CHECK(text_width(cut, 20, Weight::bold) <= whole / 2);
}

TEST_CASE("every size of screen and every screen can be drawn, with empty and with overlong words") {
    StageView view = live({{7, start, single()}});
    view.athlete = std::string(400, 'W');
    view.rep = 12345;
    view.reps = 12345;
    view.turns = {"",
                  std::string(200, 'M'),
                  std::string(300, 'x'),
                  "",
                  {{std::string(100, 'n'), 900, std::string(90, 'b')}},
                  0,
                  0,
                  {},
                  0};
    view.rest.advice = std::string(300, 'a');
    view.rest.reason = std::string(300, 'r');
    for (int i = 0; i < 40; ++i) view.rest.reps.push_back({i + 1, single(), Verdict::clash, 0ms, 400ms});
    for (const StageScreen screen : {StageScreen::live, StageScreen::rest, StageScreen::turns})
        for (const StageSize size : {StageSize{1, 1}, {320, 180}, {200, 900}, {2000, 200}}) {
            view.screen = screen;
            CHECK(stage(view, start + 300ms, size).pixels.size() == static_cast<std::size_t>(size.width) * size.height);
        }
    StageView empty;
    for (const StageScreen screen : {StageScreen::live, StageScreen::rest, StageScreen::turns}) {
        empty.screen = screen;
        CHECK(pixels_of(stage(empty, start), palette(Theme::dark_hall).ground) > 0);
    }
}
