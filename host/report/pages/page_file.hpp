// Pages as files: names made safe from call-signs, pages written whole or not at all, and nothing overwritten that is
// not a page of ours.
//
// Any thread. Errors: a folder that can't be made, a file that is not ours, one that can't be written.
#pragma once

#include <cstdint>
#include <filesystem>
#include <functional>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "core/error.hpp"

typedef struct _cairo cairo_t;

namespace breakstep::pages {

/// A call-sign as a part of a file's name: any script, but no slash, quote, control or wildcard, no dot or space at an
/// end, at most 80 bytes. Where that changed anything, the end of `id` in hexadecimal tells it from one that came out
/// alike; the same athlete always has the same name. Never empty.
[[nodiscard]] std::string safe_name(std::string_view call_sign, std::uint64_t id);

enum class Format { pdf, png, svg };

struct PageFile {
    std::filesystem::path folder;
    std::string stem;              ///< the name without its ending: "athlete-Heron"
    std::string title;             ///< of a .pdf
    std::string date;              ///< ISO, the last day it tells of
    double width = 0, height = 0;  ///< in points
    std::vector<std::function<void(cairo_t*)>> pages;
    std::vector<std::uint64_t> athletes = {};  ///< whom it shows, by their ids: erasing one finds it
};

/// Writes it and returns the paths: one .pdf of all pages; a .png (150 dots an inch; A4: 1240 x 1754) or .svg a page,
/// the second and later with -2, -3 ... after the stem. A file is complete when it appears. An existing file that does
/// not bear our mark is left as it is (an error), unless `overwrite`.
[[nodiscard]] Expected<std::vector<std::filesystem::path>> write_pages(const PageFile& file, Format format,
                                                                       bool overwrite);

/// Whether the file bears the mark that write_pages() leaves: the creator of a .pdf, a text chunk of a .png, a comment
/// of an .svg.
[[nodiscard]] bool is_own_page(const std::filesystem::path& path);

/// Whom a page of ours says that it shows; null for any other file. An older page says nobody.
[[nodiscard]] std::optional<std::vector<std::uint64_t>> shown_on_pages(const std::filesystem::path& path);

}  // namespace breakstep::pages
