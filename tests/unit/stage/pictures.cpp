// Pictures in files, and the strips' layout.
#include "devices/stage/pictures.hpp"

#include <doctest/doctest.h>

#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <string>

#include "report/drawing/phase_strip.hpp"
#include "report/drawing/picture_file.hpp"
#include "report/drawing/tempo_strip.hpp"
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
    const auto names = write_pictures(folder.path.string());
    REQUIRE_MESSAGE(names, names.error().text());
    CHECK(names->size() == 11);
    for (const std::string& name : *names) {
        CAPTURE(name);
        const std::string begin = first_bytes(folder.path / name, 8);
        if (name.ends_with(".png")) CHECK(begin == "\x89PNG\r\n\x1a\n");
        if (name.ends_with(".svg")) CHECK(begin.substr(0, 5) == "<?xml");
        CHECK(std::filesystem::file_size(folder.path / name) > 4000);
    }
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

TEST_CASE("a strip shows each phase in its colour, the way from commit to contact, and the verdict") {
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

TEST_CASE("a tempo strip draws full dots for caught entries, bands for windows, and clips what is too long") {
    const Palette& colours = palette(Theme::dark_hall);
    TempoStrip strip;
    strip.length = 30s;
    strip.attacks = {12s};
    strip.entries = {{2s, 900ms, false, TempoWindow{750ms, 1050ms}, true},
                     {4s, 1900ms, false, std::nullopt, false},
                     {12s, 300ms, true, std::nullopt, false}};
    strip.windows = 1;
    strip.caught = 1;
    strip.sign = Sign::tell;
    const auto picture = [&](const TempoStrip& shown) {
        return drawn(900, 160, [&](cairo_t* cairo) {
            TempoStripLayout layout;
            layout.left = 60;
            layout.top = 10;
            layout.width = 600;
            layout.heading = false;
            layout.answer_left = 690;
            draw_tempo_strip(cairo, shown, layout, Theme::dark_hall);
        });
    };
    const Picture shown = picture(strip);
    CHECK(pixels_of(shown, blend(colours.ground, colours.nudge, 0.6)) > 50);
    CHECK(pixels_of(shown, colours.nudge) > 100);  // "yes"
    TempoStrip empty;
    CHECK(pixels_of(picture(empty), colours.nudge) == 0);
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
