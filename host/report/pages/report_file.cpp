#include "report/pages/report_file.hpp"

#include <cairo.h>

#include <array>
#include <boost/crc.hpp>
#include <cmath>
#include <cstdio>

#include "files/new_file.hpp"
#include "files/reading.hpp"
#include "report/drawing/picture_file.hpp"

namespace breakstep::pages {
namespace {

namespace fs = std::filesystem;

constexpr std::string_view mark = "breakstep report";
const std::string svg_mark = "<!-- " + std::string(mark) + " -->\n";
constexpr double dots_per_point = 150.0 / 72.0;

void append_big_endian(std::string& bytes, std::uint32_t value) {
    for (int shift = 24; shift >= 0; shift -= 8)
        bytes += static_cast<char>((value >> static_cast<unsigned>(shift)) & 0xFFU);
}

/// A tEXt chunk "Software" (PNG specification, third edition, 11.3.3.2): length, type, data, CRC-32 of type and data.
std::string png_text_chunk() {
    const std::string body = "tEXt" + std::string("Software") + '\0' + std::string(mark);
    boost::crc_32_type crc;
    crc.process_bytes(body.data(), body.size());
    std::string chunk;
    append_big_endian(chunk, static_cast<std::uint32_t>(body.size() - 4));
    chunk += body;
    append_big_endian(chunk, crc.checksum());
    return chunk;
}

/// cairo gives a .pdf its creator itself; the others get the mark here. Before a .png's last chunk, which is 12 bytes.
std::string marked(std::string bytes, Format format) {
    constexpr std::size_t last_chunk = 12;
    if (format == Format::png && bytes.size() > last_chunk) bytes.insert(bytes.size() - last_chunk, png_text_chunk());
    if (format == Format::svg) bytes += svg_mark;
    return bytes;
}

Expected<void> may_be_written(const fs::path& path, bool overwrite) {
    std::error_code problem;
    const fs::file_status status = fs::symlink_status(path, problem);
    if (!fs::exists(status) || overwrite) return {};
    if (is_own_report(path)) return {};
    return failure(ErrorKind::bad_input, path.string() + " is there already and is not a report of breakstep",
                   "move it away, choose another folder with --out, or add --overwrite");
}

constexpr PictureFormat picture_format(Format format) {
    return format == Format::pdf ? PictureFormat::pdf : format == Format::png ? PictureFormat::png : PictureFormat::svg;
}

Error about_report(Error error) {
    error.what = "the report " + error.what;
    if (error.kind != ErrorKind::no_space)
        error.to_do = "look whether the folder may be written to, or choose another with --out";
    return error;
}

/// Drawn in memory and looked at before a byte of it is written: the file appears whole.
Expected<void> write_marked(const fs::path& path, const ReportFile& report, Format format,
                            const std::vector<std::function<void(cairo_t*)>>& pages) {
    const double scale = format == Format::png ? dots_per_point : 1;
    const double width = format == Format::png ? std::floor(report.width * scale) : report.width;
    const double height = format == Format::png ? std::round(report.height * scale) : report.height;
    std::vector<std::function<void(cairo_t*)>> scaled;
    for (const auto& draw : pages)
        scaled.emplace_back([&draw, scale](cairo_t* cairo) {
            cairo_scale(cairo, scale, scale);
            draw(cairo);
        });
    const auto drawn =
        draw_pages(picture_format(format), width, height, scaled, {report.title, std::string(mark), report.date});
    if (!drawn) return tl::make_unexpected(drawn.error());
    return files::write_whole(path, marked(*drawn, format), files::Existing::replace).map_error(about_report);
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

bool is_own_report(const fs::path& path) {
    constexpr std::size_t bytes_max = std::size_t{64} << 20U;
    const auto read = files::read_whole(path, bytes_max);
    if (!read) return false;
    const std::string& bytes = *read;
    const auto has = [&](const std::string& part) { return bytes.find(part) != std::string::npos; };
    return has(svg_mark) || (bytes.starts_with("%PDF") && has("/Creator (" + std::string(mark) + ")")) ||
           has(png_text_chunk());
}

Expected<std::vector<fs::path>> write_report(const ReportFile& report, Format format, bool overwrite) {
    if (const auto made = files::make_folder(report.folder); !made) {
        Error error = made.error();
        if (error.kind == ErrorKind::system) error.kind = ErrorKind::bad_input;
        error.to_do = "choose another with --out";
        return tl::make_unexpected(std::move(error));
    }
    std::vector<fs::path> paths;
    if (format == Format::pdf) {
        paths.push_back(report.folder / (report.stem + ending(format)));
    } else {
        for (std::size_t page = 0; page < report.pages.size(); ++page)
            paths.push_back(report.folder /
                            (report.stem + (page == 0 ? "" : "-" + std::to_string(page + 1)) + ending(format)));
    }
    for (const fs::path& path : paths)
        if (const auto may = may_be_written(path, overwrite); !may) return tl::make_unexpected(may.error());
    for (std::size_t i = 0; i < paths.size(); ++i) {
        const auto pages = format == Format::pdf ? report.pages : std::vector{report.pages[i]};
        if (const auto written = write_marked(paths[i], report, format, pages); !written)
            return tl::make_unexpected(written.error());
    }
    return paths;
}

}  // namespace breakstep::pages
