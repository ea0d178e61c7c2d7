#include "report/pages/report_file.hpp"

#include <cairo.h>

#include <array>
#include <boost/crc.hpp>
#include <cmath>
#include <cstdio>
#include <fstream>
#include <iterator>

#include "report/drawing/picture_file.hpp"

namespace breakstep::pages {
namespace {

namespace fs = std::filesystem;

constexpr std::string_view mark = "breakstep report";
const std::string svg_mark = "<!-- " + std::string(mark) + " -->\n";
constexpr double dots_per_point = 150.0 / 72.0;

std::string bytes_of(const fs::path& path) {
    std::ifstream file(path, std::ios::binary);
    return {std::istreambuf_iterator<char>(file), {}};
}

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

tl::unexpected<Error> not_written(const fs::path& path, const std::string& why) {
    return failure(ErrorKind::system, "the report " + path.string() + " can't be written: " + why,
                   "look whether the folder may be written to and has room, or choose another with --out");
}

Expected<void> may_be_written(const fs::path& path, bool overwrite) {
    std::error_code problem;
    const fs::file_status status = fs::symlink_status(path, problem);
    if (!fs::exists(status) || overwrite) return {};
    if (is_own_report(path)) return {};
    return failure(ErrorKind::bad_input, path.string() + " is there already and is not a report of breakstep",
                   "move it away, choose another folder with --out, or add --overwrite");
}

Expected<void> write_marked(const fs::path& path, const ReportFile& report, Format format,
                            const std::vector<std::function<void(cairo_t*)>>& pages) {
    // Beside its place, with the same ending, so that the renaming is one step and the file appears whole.
    const fs::path passing = path.parent_path() / (".part-" + path.filename().string());
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
        write_pages(passing.string(), width, height, scaled, {report.title, std::string(mark), report.date});
    std::error_code problem;
    if (!drawn) {
        fs::remove(passing, problem);
        return not_written(path, drawn.error().what);
    }
    if (format != Format::pdf) {
        const std::string bytes = marked(bytes_of(passing), format);
        std::ofstream file(passing, std::ios::binary | std::ios::trunc);
        file << bytes << std::flush;
        if (!file) {
            fs::remove(passing, problem);
            return not_written(path, "the disk took only part of it");
        }
    }
    fs::rename(passing, path, problem);
    if (problem) {
        std::error_code ignored;
        fs::remove(passing, ignored);
        return not_written(path, problem.message());
    }
    return {};
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
    std::error_code problem;
    if (!fs::is_regular_file(path, problem)) return false;
    const std::string bytes = bytes_of(path);
    const auto has = [&](const std::string& part) { return bytes.find(part) != std::string::npos; };
    return has(svg_mark) || (bytes.starts_with("%PDF") && has("/Creator (" + std::string(mark) + ")")) ||
           has(png_text_chunk());
}

Expected<std::vector<fs::path>> write_report(const ReportFile& report, Format format, bool overwrite) {
    std::error_code problem;
    fs::create_directories(report.folder, problem);
    if (problem)
        return failure(ErrorKind::bad_input,
                       "the folder " + report.folder.string() + " can't be made: " + problem.message(),
                       "choose another with --out");
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
