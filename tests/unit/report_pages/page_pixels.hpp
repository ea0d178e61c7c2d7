// Pages as pixels, and where their ink is.
#pragma once

#include <cairo.h>

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <cstring>
#include <filesystem>
#include <fstream>
#include <functional>
#include <iterator>
#include <string>
#include <vector>

#include "report/pages/sheet.hpp"

namespace page_pixels {

using namespace breakstep;
using namespace breakstep::pages;

/// Drawn at `scale` pixels a point, on white.
struct Picture {
    int width = 0, height = 0;
    double scale = 1;
    std::vector<std::uint32_t> pixels;  // 0x00RRGGBB

    [[nodiscard]] std::uint32_t at(int x, int y) const {
        return pixels[static_cast<std::size_t>(y) * static_cast<std::size_t>(width) + static_cast<std::size_t>(x)];
    }
};

inline Picture drawn(double width, double height, const std::function<void(cairo_t*)>& draw, double scale = 1) {
    Picture picture{
        static_cast<int>(std::lround(width * scale)), static_cast<int>(std::lround(height * scale)), scale, {}};
    picture.pixels.resize(static_cast<std::size_t>(picture.width) * static_cast<std::size_t>(picture.height));
    cairo_surface_t* surface = cairo_image_surface_create(CAIRO_FORMAT_RGB24, picture.width, picture.height);
    cairo_t* cairo = cairo_create(surface);
    cairo_set_source_rgb(cairo, 1, 1, 1);
    cairo_paint(cairo);
    cairo_scale(cairo, scale, scale);
    draw(cairo);
    cairo_destroy(cairo);
    cairo_surface_flush(surface);
    for (int y = 0; y < picture.height; ++y)
        std::memcpy(&picture.pixels[static_cast<std::size_t>(y) * static_cast<std::size_t>(picture.width)],
                    cairo_image_surface_get_data(surface) + std::ptrdiff_t{y} * cairo_image_surface_get_stride(surface),
                    static_cast<std::size_t>(picture.width) * 4);
    cairo_surface_destroy(surface);
    for (std::uint32_t& pixel : picture.pixels) pixel &= 0xFFFFFFU;
    return picture;
}

/// Where anything but white stands, in points; empty where left > right.
struct Ink {
    double left = 1e9, top = 1e9, right = -1e9, bottom = -1e9;
    std::size_t pixels = 0;
};

inline Ink ink_of(const Picture& picture, double left = 0, double top = 0, double right = 1e9, double bottom = 1e9) {
    Ink ink;
    for (int y = 0; y < picture.height; ++y)
        for (int x = 0; x < picture.width; ++x) {
            const double at_x = x / picture.scale, at_y = y / picture.scale;
            if (at_x < left || at_x >= right || at_y < top || at_y >= bottom || picture.at(x, y) == 0xFFFFFFU) continue;
            ink.left = std::min(ink.left, at_x);
            ink.right = std::max(ink.right, at_x + 1 / picture.scale);
            ink.top = std::min(ink.top, at_y);
            ink.bottom = std::max(ink.bottom, at_y + 1 / picture.scale);
            ++ink.pixels;
        }
    return ink;
}

struct Folder {
    std::filesystem::path path;
    Folder() {
        std::string name = (std::filesystem::temp_directory_path() / "breakstep-pages-XXXXXX").string();
        if (mkdtemp(name.data()) == nullptr) std::abort();
        path = name;
    }
    ~Folder() {
        std::error_code ignored;
        std::filesystem::remove_all(path, ignored);
    }
    Folder(const Folder&) = delete;
    Folder& operator=(const Folder&) = delete;
};

inline std::string bytes_of(const std::filesystem::path& path) {
    std::ifstream file(path, std::ios::binary);
    return {std::istreambuf_iterator<char>(file), {}};
}

}  // namespace page_pixels
