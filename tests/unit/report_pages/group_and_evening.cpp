// The coach's pages: every row inside the margins, more sheets where there are more rows.
#include <doctest/doctest.h>

#include "report/pages/page_parts.hpp"
#include "support/invented_pages.hpp"
#include "unit/report_pages/page_pixels.hpp"

using namespace page_pixels;

namespace {

GroupPage group_of(std::size_t rows, const std::string& name) {
    GroupPage page = invented_group_page();
    const std::vector<GroupRow> few = page.rows;
    page.rows.clear();
    for (std::size_t i = 0; i < rows; ++i) {
        page.rows.push_back(few[i % few.size()]);
        page.rows.back().call_sign = name + std::to_string(i);
    }
    return page;
}

void check_margins(const Picture& picture) {
    const Ink ink = ink_of(picture);
    CHECK(ink.left >= margin - 1);
    CHECK(ink.right <= page_width - margin + 1);
    CHECK(ink.top >= margin - 1);
    CHECK(ink.bottom <= page_height - margin + 1);
}

}  // namespace

TEST_CASE("a group of up to 22 with a plan stands on one sheet, one of 23 on two") {
    CHECK(group_sheets(group_of(0, "Bird ")) == 1);
    CHECK(group_sheets(group_of(22, "Bird ")) == 1);
    CHECK(group_sheets(group_of(23, "Bird ")) == 2);
    CHECK(group_sheets(group_of(60, "Bird ")) == 3);
}

TEST_CASE("no ink of a group's or an evening's sheets leaves the margins, whatever the names") {
    const std::string longest(200, 'W');
    for (const std::size_t rows : {std::size_t{0}, std::size_t{1}, std::size_t{22}, std::size_t{47}}) {
        const GroupPage page = group_of(rows, longest);
        for (std::size_t sheet = 0; sheet < group_sheets(page); ++sheet)
            check_margins(drawn(page_width, page_height,
                                [&](cairo_t* cairo) { draw_group_page(cairo, page, sheet, Theme::paper); }));
    }
    for (const std::size_t rows : {std::size_t{1}, std::size_t{22}, std::size_t{60}}) {
        EveningPage page = invented_evening_page();
        const EveningRow row = page.rows.back();
        page.rows.assign(rows, row);
        for (EveningRow& one : page.rows) {
            one.call_sign = longest;
            one.drill = longest;
            one.odd = longest;
        }
        page.odd.assign(rows, longest);
        for (std::size_t sheet = 0; sheet < evening_sheets(page); ++sheet)
            check_margins(drawn(page_width, page_height,
                                [&](cairo_t* cairo) { draw_evening_page(cairo, page, sheet, Theme::paper); }));
    }
}

TEST_CASE("a drill whose title is cut at its name is written as large as one that has no more to say") {
    const auto with = [](const char* title) {
        EveningPage page = invented_evening_page();
        page.rows.resize(1);
        page.rows.front().drill = title;
        return drawn(page_width, page_height,
                     [&](cairo_t* cairo) { draw_evening_page(cairo, page, 0, Theme::paper); });
    };
    const Picture cut = with("Kick or feint: answer the one, hold on the other, in turn"), whole = with("Kick or feint");
    CHECK(cut.pixels == whole.pixels);
}

TEST_CASE("a title that is too long for its place ends where its name does") {
    const auto in = [](const std::string& title, const std::string& like) {
        return title_within(title, text_width(like, body_text, Weight::regular) + 1, body_text);
    };
    CHECK(in("Kick or feint: answer the one, hold on the other", "Kick or feint: answer the one, h") ==
          "Kick or feint");
    CHECK(in("next: Taking turns: one kick, one answer in the gap", "next: Taking turns: one kick") ==
          "next: Taking turns");
    CHECK(in("next: Drawing the attack out, answer in the drop", "next: Drawing the attack out, a") ==
          "next: Drawing the attack out");
    CHECK(in("Test for juniors: gap between two kicks, back hand", "Test for juniors: gap between two kicks,") ==
          "Test for juniors: gap between two kicks");
    CHECK(in("Hunted", "Hunted") == "Hunted");
    CHECK(in("Unspeakablylongname", "Unspeak").ends_with("\u2026"));
}

TEST_CASE("a claim is told by shape: in grey no two marks are alike") {
    std::vector<Picture> marks;
    for (const auto claim : {progress::Claim::improved, progress::Claim::worse, progress::Claim::no_clear_change,
                             progress::Claim::too_few}) {
        GroupPage page = group_of(1, "Bird ");
        page.rows[0].claim = claim;
        const Picture whole =
            drawn(page_width, page_height, [&](cairo_t* cairo) { draw_group_page(cairo, page, 0, Theme::grey_paper); });
        // The mark alone: the column left of the word.
        Picture mark{14, 16, 1, {}};
        for (int y = 146; y < 162; ++y)
            for (int x = 219; x < 233; ++x) mark.pixels.push_back(whole.at(x, y));
        CHECK(ink_of(mark).pixels > 5);
        for (const Picture& other : marks) CHECK(mark.pixels != other.pixels);
        marks.push_back(mark);
    }
}
