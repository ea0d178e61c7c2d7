#include "report/pages/page_file.hpp"

#include <cairo.h>

#include <array>
#include <boost/crc.hpp>
#include <charconv>
#include <cmath>
#include <cstdio>
#include <system_error>

#include "files/new_file.hpp"
#include "files/reading.hpp"
#include "report/drawing/picture_file.hpp"

namespace breakstep::pages {
namespace {

namespace fs = std::filesystem;

constexpr std::string_view mark = "breakstep report", shows = "breakstep shows";
const std::string svg_mark = "<!-- " + std::string(mark) + " -->\n";
constexpr double dots_per_point = 150.0 / 72.0;

void append_big_endian(std::string& bytes, std::uint32_t value) {
    for (int shift = 24; shift >= 0; shift -= 8)
        bytes += static_cast<char>((value >> static_cast<unsigned>(shift)) & 0xFFU);
}

/// A tEXt chunk (PNG specification, third edition, 11.3.3.2): length, type, data, CRC-32 of type and data.
std::string png_text_chunk(const std::string& keyword, std::string_view text) {
    std::string body = "tEXt";
    body.append(keyword).append(1, '\0').append(text);
    boost::crc_32_type crc;
    crc.process_bytes(body.data(), body.size());
    std::string chunk;
    append_big_endian(chunk, static_cast<std::uint32_t>(body.size() - 4));
    chunk += body;
    append_big_endian(chunk, crc.checksum());
    return chunk;
}

std::string own_png_chunk() { return png_text_chunk("Software", mark); }

/// "breakstep shows 0123456789abcdef 00000000000000ff."; "" for nobody.
std::string whom_it_shows(const std::vector<std::uint64_t>& athletes) {
    if (athletes.empty()) return "";
    std::string text(shows);
    for (const std::uint64_t id : athletes) {
        std::array<char, 18> digits{};
        std::snprintf(digits.data(), digits.size(), " %016llx", static_cast<unsigned long long>(id));
        text += digits.data();
    }
    return text + '.';
}

/// cairo gives a .pdf its facts itself; the others get the mark here. Before a .png's last chunk, which is 12 bytes.
std::string marked(std::string bytes, Format format, const std::string& whom) {
    constexpr std::size_t last_chunk = 12;
    if (format == Format::png && bytes.size() > last_chunk)
        bytes.insert(bytes.size() - last_chunk,
                     (whom.empty() ? "" : png_text_chunk("Comment", whom)) + own_png_chunk());
    if (format == Format::svg) bytes += (whom.empty() ? "" : "<!-- " + whom + " -->\n") + svg_mark;
    return bytes;
}

/// The whole of a file that bears our mark; null for any other.
std::optional<std::string> own_bytes(const fs::path& path) {
    constexpr std::size_t bytes_max = std::size_t{64} << 20U;
    const auto read = files::read_whole(path, bytes_max);
    if (!read) return std::nullopt;
    const auto has = [&](const std::string& part) { return read->find(part) != std::string::npos; };
    const bool ours = has(svg_mark) || has(own_png_chunk()) ||
                      (read->starts_with("%PDF") && has("/Creator (" + std::string(mark) + ")"));
    return ours ? std::optional(*read) : std::nullopt;
}

Expected<void> may_be_written(const fs::path& path, bool overwrite) {
    std::error_code problem;
    const fs::file_status status = fs::symlink_status(path, problem);
    if (!fs::exists(status) || overwrite) return {};
    if (is_own_page(path)) return {};
    return failure(ErrorKind::bad_input, path.string() + " is there already and is not a page of breakstep",
                   "move it away, choose another folder with --out, or add --overwrite");
}

constexpr PictureFormat picture_format(Format format) {
    return format == Format::pdf ? PictureFormat::pdf : format == Format::png ? PictureFormat::png : PictureFormat::svg;
}

Error about_page(Error error) {
    error.what = "the page " + error.what;
    if (error.kind != ErrorKind::no_space)
        error.to_do = "look whether the folder may be written to, or choose another with --out";
    return error;
}

/// Drawn in memory and looked at before a byte of it is written: the file appears whole.
Expected<void> write_marked(const fs::path& path, const PageFile& file, Format format,
                            const std::vector<std::function<void(cairo_t*)>>& pages) {
    const double scale = format == Format::png ? dots_per_point : 1;
    const double width = format == Format::png ? std::floor(file.width * scale) : file.width;
    const double height = format == Format::png ? std::round(file.height * scale) : file.height;
    std::vector<std::function<void(cairo_t*)>> scaled;
    for (const auto& draw : pages)
        scaled.emplace_back([&draw, scale](cairo_t* cairo) {
            cairo_scale(cairo, scale, scale);
            draw(cairo);
        });
    const std::string whom = whom_it_shows(file.athletes);
    const auto drawn =
        draw_pages(picture_format(format), width, height, scaled, {file.title, std::string(mark), file.date, whom});
    if (!drawn) return tl::make_unexpected(drawn.error());
    return files::write_whole(path, marked(*drawn, format, whom), files::Existing::replace).map_error(about_page);
}

constexpr const char* ending(Format format) {
    switch (format) {
        case Format::pdf:
            return ".pdf";
        case Format::png:
            return ".png";
        case Format::svg:
            return ".svg";
    }
    return "";
}

bool is_unsafe(char character) {
    const auto byte = static_cast<unsigned char>(character);
    return byte < 0x20 || byte == 0x7F ||
           std::string_view("/\\:*?\"'<>|`$&;#%{}~!").find(character) != std::string_view::npos;
}

}  // namespace

std::string safe_name(std::string_view call_sign, std::uint64_t id) {
    constexpr std::size_t longest = 80;
    std::string name;
    for (const char character : call_sign) name += is_unsafe(character) ? '-' : character;
    if (name.size() > longest) {
        std::size_t end = longest;
        while (end > 0 && (static_cast<unsigned char>(name[end]) & 0xC0U) == 0x80U) --end;
        name.resize(end);
    }
    const auto at_end = [](char character) { return character == ' ' || character == '.'; };
    while (!name.empty() && at_end(name.back())) name.pop_back();
    while (!name.empty() && at_end(name.front())) name.erase(0, 1);
    if (name == call_sign && !name.empty()) return name;
    std::array<char, 20> digits{};
    std::snprintf(digits.data(), digits.size(), "%08llx", static_cast<unsigned long long>(id & 0xFFFFFFFFU));
    return name + (name.empty() ? "" : "-") + digits.data();
}

bool is_own_page(const fs::path& path) { return own_bytes(path).has_value(); }

std::optional<std::vector<std::uint64_t>> shown_on_pages(const fs::path& path) {
    const auto bytes = own_bytes(path);
    if (!bytes) return std::nullopt;
    std::vector<std::uint64_t> athletes;
    // The last that stands there is ours: a page's own text stands before it.
    std::size_t at = bytes->rfind(shows);
    if (at == std::string::npos) return athletes;
    constexpr std::size_t digits = 16;
    for (at += shows.size(); at + digits < bytes->size() && (*bytes)[at] == ' '; at += digits + 1) {
        std::uint64_t id = 0;
        const char* begin = bytes->data() + at + 1;
        const auto [end, problem] = std::from_chars(begin, begin + digits, id, 16);
        if (problem != std::errc() || end != begin + digits) break;
        athletes.push_back(id);
    }
    return athletes;
}

Expected<std::vector<fs::path>> write_pages(const PageFile& file, Format format, bool overwrite) {
    if (const auto made = files::make_folder(file.folder); !made) {
        Error error = made.error();
        if (error.kind == ErrorKind::system) error.kind = ErrorKind::bad_input;
        error.to_do = "choose another with --out";
        return tl::make_unexpected(std::move(error));
    }
    std::vector<fs::path> paths;
    if (format == Format::pdf) {
        paths.push_back(file.folder / (file.stem + ending(format)));
    } else {
        for (std::size_t page = 0; page < file.pages.size(); ++page)
            paths.push_back(file.folder /
                            (file.stem + (page == 0 ? "" : "-" + std::to_string(page + 1)) + ending(format)));
    }
    for (const fs::path& path : paths)
        if (const auto may = may_be_written(path, overwrite); !may) return tl::make_unexpected(may.error());
    for (std::size_t i = 0; i < paths.size(); ++i) {
        const auto pages = format == Format::pdf ? file.pages : std::vector{file.pages[i]};
        if (const auto written = write_marked(paths[i], file, format, pages); !written)
            return tl::make_unexpected(written.error());
    }
    return paths;
}

}  // namespace breakstep::pages
