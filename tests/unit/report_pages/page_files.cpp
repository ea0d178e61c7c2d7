// Reports as files: safe names, whole files, nothing overwritten that is not ours.
#include "report/pages/page_file.hpp"

#include <doctest/doctest.h>

#include <set>

#include "support/invented_pages.hpp"
#include "unit/report_pages/page_pixels.hpp"

using namespace page_pixels;

namespace {

PageFile heron_in(const Folder& folder, std::size_t sheets = 1) {
    const auto draw = [](cairo_t* cairo) { draw_athlete_page(cairo, invented_athlete_page(), Theme::paper); };
    return {folder.path / "reports",
            "athlete-Heron",
            "Heron, Saltmarsh Hall",
            "2026-11-03",
            page_width,
            page_height,
            std::vector<std::function<void(cairo_t*)>>(sheets, draw)};
}

std::size_t count_of(const std::string& text, const std::string& part) {
    std::size_t count = 0;
    for (std::size_t at = text.find(part); at != std::string::npos; at = text.find(part, at + 1)) ++count;
    return count;
}

std::uint32_t big_endian(const std::string& bytes, std::size_t at) {
    std::uint32_t value = 0;
    for (std::size_t i = 0; i < 4; ++i) value = value << 8U | static_cast<unsigned char>(bytes[at + i]);
    return value;
}

bool is_whole_utf8(const std::string& text) {
    for (std::size_t at = 0; at < text.size();) {
        const auto first = static_cast<unsigned char>(text[at]);
        const std::size_t length = first < 0x80 ? 1 : first >> 5U == 6 ? 2 : first >> 4U == 14 ? 3 : 4;
        if (first >= 0x80 && first < 0xC0) return false;
        for (std::size_t i = 1; i < length; ++i)
            if (at + i >= text.size() || (static_cast<unsigned char>(text[at + i]) & 0xC0U) != 0x80U) return false;
        at += length;
    }
    return true;
}

}  // namespace

TEST_CASE("an athlete's page is a .pdf of one page with title, creator and the term's last day") {
    const Folder folder;
    const auto paths = write_pages(heron_in(folder), Format::pdf, false);
    REQUIRE_MESSAGE(paths, paths.error().text());
    REQUIRE(paths->size() == 1);
    const std::string bytes = bytes_of(paths->front());
    CHECK(bytes.starts_with("%PDF-"));
    CHECK(count_of(bytes, "/Type /Page") - count_of(bytes, "/Type /Pages") == 1);
    CHECK(count_of(bytes, "/Title (Heron, Saltmarsh Hall)") == 1);
    CHECK(count_of(bytes, "(20261103000000Z)") == 1);
}

TEST_CASE("several sheets are one .pdf, or a .png each with its number") {
    const Folder folder;
    const auto pdf = write_pages(heron_in(folder, 3), Format::pdf, false);
    REQUIRE(pdf);
    const std::string bytes = bytes_of(pdf->front());
    CHECK(count_of(bytes, "/Type /Page") - count_of(bytes, "/Type /Pages") == 3);
    const auto png = write_pages(heron_in(folder, 2), Format::png, false);
    REQUIRE(png);
    REQUIRE(png->size() == 2);
    CHECK(png->at(0).filename() == "athlete-Heron.png");
    CHECK(png->at(1).filename() == "athlete-Heron-2.png");
}

// Within one process cairo counts the surfaces and clips of its .svg through; between runs they are the same, which is
// tested with the command.
TEST_CASE("the same page gives the same bytes as .pdf and .png") {
    for (const Format format : {Format::pdf, Format::png}) {
        const Folder one, other;
        const auto first = write_pages(heron_in(one), format, false);
        const auto second = write_pages(heron_in(other), format, false);
        REQUIRE(first);
        REQUIRE(second);
        const bool same = bytes_of(first->front()) == bytes_of(second->front());
        CHECK(same);
    }
}

TEST_CASE("a .png of A4 has 1240 x 1754 pixels, and its chunks are whole to the last") {
    const Folder folder;
    const auto paths = write_pages(heron_in(folder), Format::png, false);
    REQUIRE(paths);
    const std::string bytes = bytes_of(paths->front());
    // Width and height stand first in the header chunk (PNG specification, third edition, 11.2.1).
    CHECK(big_endian(bytes, 16) == 1240);
    CHECK(big_endian(bytes, 20) == 1754);
    std::size_t at = 8;
    std::string last;
    while (at + 12 <= bytes.size()) {
        last = bytes.substr(at + 4, 4);
        at += 12 + big_endian(bytes, at);
    }
    CHECK(at == bytes.size());
    CHECK(last == "IEND");
    // cairo reads it back, checksums and all.
    cairo_surface_t* surface = cairo_image_surface_create_from_png(paths->front().c_str());
    CHECK(cairo_surface_status(surface) == CAIRO_STATUS_SUCCESS);
    cairo_surface_destroy(surface);
}

TEST_CASE("our own report is replaced, anything else is left as it is unless it may be overwritten") {
    for (const Format format : {Format::pdf, Format::png, Format::svg}) {
        const Folder folder;
        const PageFile report = heron_in(folder);
        const auto first = write_pages(report, format, false);
        REQUIRE(first);
        CHECK(is_own_page(first->front()));
        CHECK(write_pages(report, format, false));
        std::ofstream(first->front()) << "a letter about a breakstep report";
        CHECK_FALSE(is_own_page(first->front()));
        const auto refused = write_pages(report, format, false);
        REQUIRE_FALSE(refused);
        CHECK(refused.error().what.find("is not a page of breakstep") != std::string::npos);
        CHECK(bytes_of(first->front()) == "a letter about a breakstep report");
        CHECK(write_pages(report, format, true));
        CHECK(is_own_page(first->front()));
        // Nothing passing is left behind.
        CHECK(std::distance(std::filesystem::directory_iterator(report.folder), {}) == 1);
    }
}

TEST_CASE("of several sheets none is written where one may not be") {
    const Folder folder;
    const PageFile report = heron_in(folder, 2);
    std::filesystem::create_directories(report.folder);
    std::ofstream(report.folder / "athlete-Heron-2.png") << "mine";
    CHECK_FALSE(write_pages(report, Format::png, false));
    CHECK_FALSE(std::filesystem::exists(report.folder / "athlete-Heron.png"));
}

TEST_CASE("a folder that can't be made is said, with what to do") {
    const Folder folder;
    std::ofstream(folder.path / "reports") << "a file";
    const auto refused = write_pages(heron_in(folder), Format::pdf, false);
    REQUIRE_FALSE(refused);
    CHECK(refused.error().to_do.find("--out") != std::string::npos);
}

TEST_CASE("a folder's place taken by a report's name is not overwritten") {
    const Folder folder;
    std::filesystem::create_directories(folder.path / "reports" / "athlete-Heron.pdf" / "inside");
    CHECK_FALSE(write_pages(heron_in(folder), Format::pdf, false));
    CHECK_FALSE(write_pages(heron_in(folder), Format::pdf, true));
    CHECK(std::filesystem::exists(folder.path / "reports" / "athlete-Heron.pdf" / "inside"));
}

TEST_CASE("call-signs become safe names that stay apart") {
    CHECK(safe_name("Heron", 7) == "Heron");
    CHECK(safe_name("\u82cd\u9e6d", 7) == "\u82cd\u9e6d");
    std::set<std::string> names;
    std::uint64_t id = 0x1234'5678'0000'0001;
    std::vector<std::string> typed{"A/B",  "A\\B", "A:B",   "A-B", "../../etc/passwd", ".", "..", "", " ", "\"quoted\"",
                                   "a\nb", "<b>&", "$(rm)", "%n%s"};
    typed.push_back(std::string(200, 'x'));
    typed.push_back(std::string(199, 'x') + "y");
    std::string wide;
    for (int i = 0; i < 200; ++i) wide += "\U0001F426";
    typed.push_back(wide);
    for (const std::string& name : typed) {
        CAPTURE(name);
        const std::string safe = safe_name(name, id++);
        CHECK(safe.size() <= 100);
        CHECK_FALSE(safe.empty());
        CHECK(safe.find_first_of("/\\:*?\"'<>|$%&\n") == std::string::npos);
        CHECK(safe.front() != '.');
        CHECK(names.insert(safe).second);
        // Never cut inside a character: what is left is whole UTF-8.
        CHECK(is_whole_utf8(safe));
    }
    CHECK(safe_name("A/B", 5) == safe_name("A/B", 5));
}
