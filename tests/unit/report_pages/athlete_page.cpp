// The athlete's page: everything inside the margins whatever the names, grey as good as colour, gaps that are true.
#include "report/pages/athlete_page.hpp"

#include <doctest/doctest.h>

#include "report/drawing/picture_file.hpp"
#include "report/drawing/verdict_words.hpp"
#include "support/invented_pages.hpp"
#include "unit/report_pages/page_pixels.hpp"

using namespace page_pixels;

namespace {

std::string repeated(const std::string& piece, int times) {
    std::string text;
    for (int i = 0; i < times; ++i) text += piece;
    return text;
}

struct Name {
    const char* what;
    std::string text;
};

/// 200 characters are what the store allows (store/text_rules.hpp).
std::vector<Name> hard_names() {
    return {{"200 capitals without a place to break", repeated("W", 200)},
            {"200 characters in words", repeated("Wide Heron ", 18) + "Ha"},
            {"Arabic", "\u0645\u0627\u0644\u0643 \u0627\u0644\u062d\u0632\u064a\u0646"},
            {"200 Arabic characters", repeated("\u0645\u0627\u0644\u0643 ", 40)},
            {"Devanagari", "\u0938\u093e\u0930\u0938 \u0915\u094d\u0930\u094c\u0902\u091a"},
            {"Chinese", "\u82cd\u9e6d\u98de\u8fc7\u6c34\u9762"},
            {"200 Chinese characters", repeated("\u82cd\u9e6d", 100)},
            {"emoji", "\U0001F426\U0001F985\U0001F3F3\uFE0F\u200D\U0001F308"},
            {"quotes and markup", "<b>\"O'Heron\" & Co</b>"},
            {"a percent format", "%s%n%d"}};
}

AthletePage named(const std::string& name) {
    AthletePage page = invented_athlete_page();
    page.call_sign = name;
    page.headline = isolated(name) + " now meets the drop on time 7 times in 10, up from 4 when the term began.";
    page.footer = "Bars hold the true value 95 times in 100. " + name + " is compared with " + name + " only.";
    return page;
}

Picture picture_of(const AthletePage& page, Theme theme = Theme::paper, double scale = 1) {
    return drawn(
        page_width, page_height, [&](cairo_t* cairo) { draw_athlete_page(cairo, page, theme); }, scale);
}

/// A pixel's width of anti-aliasing may touch the margin.
void check_margins(const Picture& picture) {
    const Ink ink = ink_of(picture);
    const double blur = 1 / picture.scale;
    CHECK(ink.left >= margin - blur);
    CHECK(ink.right <= page_width - margin + blur);
    CHECK(ink.top >= margin - blur);
    CHECK(ink.bottom <= page_height - margin + blur);
}

AthletePage empty_page() {
    AthletePage page;
    page.call_sign = "Wren";
    page.no_test = "No test yet.";
    page.no_last_test = "One test evening so far.";
    page.plot.title = "Evening by evening";
    page.plot.missing = "Too few reps.";
    page.no_rhythm = "No entries were read yet.";
    page.no_answers = "No scored rep yet.";
    page.next.why = "Nothing chosen yet.";
    return page;
}

/// L* of CIELAB from the relative luminance (CIE 15:2004).
double lightness(Colour colour) {
    const double y = relative_luminance(colour);
    return y > 216.0 / 24389 ? 116 * std::cbrt(y) - 16 : y * 24389 / 27;
}

std::size_t pixels_of(const Picture& picture, Colour colour) {
    const auto wanted = static_cast<std::uint32_t>(colour.red << 16U | colour.green << 8U | colour.blue);
    return static_cast<std::size_t>(std::count(picture.pixels.begin(), picture.pixels.end(), wanted));
}

}  // namespace

TEST_CASE("no ink of an athlete's page leaves the margins") { check_margins(picture_of(invented_athlete_page())); }

TEST_CASE("names of any script and of 200 characters stay inside the margins, and other words stay where they are") {
    for (const Name& name : hard_names()) {
        CAPTURE(name.what);
        const Picture picture = picture_of(named(name.text));
        check_margins(picture);
        // The gutter between the columns holds the left plot's last words at most: below the tests it stays white.
        CHECK(ink_of(picture, left_axis + column_width + 6, 420, right_column - 4, bottom - 20).pixels == 0);
    }
}

TEST_CASE("a name is shown as it was typed, not read as markup") {
    AthletePage page = invented_athlete_page();
    page.call_sign = "<b>&amp;";
    const Ink title = ink_of(picture_of(page, Theme::paper, 2), 0, 0, 300, 80);
    const double wide = text_width(page.call_sign, 36, Weight::bold);
    CHECK(wide > 2 * text_width("&", 36, Weight::bold));
    CHECK(title.right - margin == doctest::Approx(wide).epsilon(0.05));
}

TEST_CASE("long words between others are broken inside, within their column") {
    for (const std::string& text : {repeated("W", 200), std::string("short words that wrap as usual in a column"),
                                    std::string("\u0645\u0627\u0644\u0643 now meets the drop on time 7 times in 10")}) {
        const int needed = paragraph_lines(text, 150, 12, Weight::regular);
        const Picture picture = drawn(200, 60, [&](cairo_t* cairo) {
            const Sheet sheet(cairo, Theme::paper);
            CHECK(draw_paragraph(cairo, text, 20, 16, sheet.style(12), {150, 15, 3}) == std::min(3, needed));
        });
        const Ink ink = ink_of(picture);
        CHECK(ink.left >= 19);
        CHECK(ink.right <= 171);
        CHECK(needed > 1);
    }
}

TEST_CASE("without colours nothing is lost: every pixel is grey and the phases differ by lightness") {
    const Picture picture = picture_of(invented_athlete_page(), Theme::grey_paper, 2);
    std::size_t coloured = 0;
    for (const std::uint32_t pixel : picture.pixels)
        coloured += (pixel >> 16U) != ((pixel >> 8U) & 0xFFU) || (pixel >> 16U) != (pixel & 0xFFU) ? 1 : 0;
    CHECK(coloured == 0);
    const Palette& grey = palette(Theme::grey_paper);
    // Source: our own rule, lift, gap, drop and clash 8 L* or more apart.
    const double lift = lightness(grey.lift), gap = lightness(grey.gap), drop = lightness(grey.drop),
                 clash = lightness(grey.clash);
    CHECK(lift - gap >= 8);
    CHECK(gap - clash >= 3);  // and clash alone is hatched
    CHECK(clash - drop >= 8);
    for (const Colour colour : {grey.lift, grey.gap, grey.drop}) CHECK(pixels_of(picture, colour) > 200);
}

TEST_CASE("a grey colour is as light as the colour it stands for") {
    const Palette& paper = palette(Theme::paper);
    const Palette& grey = palette(Theme::grey_paper);
    for (const auto& [colour, as_grey] :
         {std::pair{paper.lift, grey.lift}, std::pair{paper.good, grey.good}, std::pair{paper.nudge, grey.nudge}})
        CHECK(relative_luminance(as_grey) == doctest::Approx(relative_luminance(colour)).epsilon(0.02));
    CHECK(grey.ground == paper.ground);
}

TEST_CASE("a page of an athlete without anything says in each place what is missing") {
    const AthletePage page = empty_page();
    const Picture said = picture_of(page);
    check_margins(said);
    using Words = std::string AthletePage::*;
    for (const Words words : {&AthletePage::no_test, &AthletePage::no_rhythm, &AthletePage::no_answers}) {
        AthletePage silent = page;
        silent.*words = "";
        CHECK(ink_of(said).pixels > ink_of(picture_of(silent)).pixels + 100);
    }
    AthletePage silent = page;
    silent.plot.missing = "";
    CHECK(ink_of(said).pixels > ink_of(picture_of(silent)).pixels + 100);
    silent = page;
    silent.next.why = "";
    CHECK(ink_of(said).pixels > ink_of(picture_of(silent)).pixels + 100);
}

TEST_CASE("a long title, detail and reason of what comes next keep clear of the footer and the margins") {
    AthletePage page = invented_athlete_page();
    page.next = {repeated("Long title ", 12), repeated("detail ", 40), repeated("reason ", 60), page.next.evidence};
    page.answers_words = repeated("words ", 60);
    const Picture picture = picture_of(page);
    check_margins(picture);
    // White between the last section and the footer's line of text.
    CHECK(ink_of(picture, 0, bottom - 16, page_width, bottom - 13).pixels == 0);
}

TEST_CASE("one test alone leaves words in the place of the second") {
    AthletePage page = invented_athlete_page();
    page.last_test.reset();
    page.no_last_test = "One test evening so far.";
    const Picture said = picture_of(page);
    check_margins(said);
    page.no_last_test = "";
    CHECK(ink_of(said).pixels > ink_of(picture_of(page)).pixels + 100);
}

TEST_CASE("a missed week leaves a gap as wide as the week, and half of a share stands half way up") {
    TermPlot plot;
    for (const int week : {0, 1, 3}) plot.points.push_back({20'000 + 7 * week, 0.5, std::nullopt});
    const double left = 40, top = 10, width = 200, height = 100;
    const Picture picture = drawn(
        260, 160,
        [&](cairo_t* cairo) {
            draw_term_plot(Sheet(cairo, Theme::paper), plot, {left, top, width, height});
        },
        4);
    const Colour text = palette(Theme::paper).text;
    const auto ink = static_cast<std::uint32_t>(text.red << 16U | text.green << 8U | text.blue);
    // The dots' middles on the line of 50 %.
    std::vector<double> middles;
    const int row = static_cast<int>((top + height / 2) * 4);
    for (int x = 0, begin = -1; x < picture.width; ++x) {
        const bool dark = picture.at(x, row) == ink;
        if (dark && begin < 0) begin = x;
        if (!dark && begin >= 0) {
            middles.push_back((begin + x) / 8.0);
            begin = -1;
        }
    }
    REQUIRE(middles.size() == 3);
    CHECK((middles[2] - middles[1]) / (middles[1] - middles[0]) == doctest::Approx(2).epsilon(0.02));
}

TEST_CASE("an axis ends at a round number at or above its values") {
    CHECK(round_end(0.4) == doctest::Approx(0.5));
    CHECK(round_end(251) == doctest::Approx(500));
    CHECK(round_end(200) == doctest::Approx(200));
    CHECK(round_end(0) == 1);
    CHECK(round_end(2.2) == doctest::Approx(2.5));
}

TEST_CASE("measures below zero, alone or all alike are drawn too") {
    for (const std::vector<double>& values : {std::vector<double>{-3, 4}, {-2, -1}, {0, 0}, {5}}) {
        AthletePage page = invented_athlete_page();
        page.plot.share = false;
        page.plot.line.reset();
        page.plot.points.clear();
        for (std::size_t i = 0; i < values.size(); ++i)
            page.plot.points.push_back({20'000 + static_cast<std::int32_t>(i), values[i], std::nullopt});
        check_margins(picture_of(page));
    }
}

TEST_CASE("the charts fit their own size") {
    const AthletePage page = invented_athlete_page();
    const auto check = [](ChartSize size, const std::function<void(cairo_t*)>& draw) {
        // A wider picture shows what would have been cut.
        const Ink ink = ink_of(drawn(size.width + 60, size.height + 60, [&](cairo_t* cairo) {
            cairo_translate(cairo, 30, 30);
            draw(cairo);
        }));
        CHECK(ink.left >= 30);
        CHECK(ink.top >= 30);
        CHECK(ink.right <= size.width + 30);
        CHECK(ink.bottom <= size.height + 30);
        CHECK(ink.pixels > 500);
    };
    check(test_chart_size(*page.first_test),
          [&](cairo_t* cairo) { draw_test_chart(cairo, *page.first_test, Theme::paper); });
    check(plot_chart_size(), [&](cairo_t* cairo) { draw_plot_chart(cairo, page.plot, Theme::paper); });
    check(answers_chart_size(page), [&](cairo_t* cairo) { draw_answers_chart(cairo, page, Theme::paper); });
    check(rhythm_chart_size(page.rhythm[0]),
          [&](cairo_t* cairo) { draw_rhythm_chart(cairo, page.rhythm[0], Theme::paper); });
}

TEST_CASE("a child reads what to do where an adult reads that they were hit, and every other word alike") {
    CHECK(child_word(Verdict::got_hit) == "inside: step out");
    for (const Verdict verdict : {Verdict::on_time, Verdict::clash, Verdict::early, Verdict::late, Verdict::missed})
        CHECK(child_word(verdict) == word(verdict));
}
