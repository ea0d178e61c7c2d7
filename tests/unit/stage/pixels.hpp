// Pictures as pixels, and attacks to draw.
#pragma once

#include <cairo.h>

#include <cstdint>
#include <cstring>
#include <functional>
#include <vector>

#include "devices/stage/draw_stage.hpp"

namespace pixels {

using namespace breakstep;

struct Picture {
    int width = 0;
    int height = 0;
    std::vector<std::uint32_t> pixels;  // 0x00RRGGBB

    bool operator==(const Picture&) const = default;
    [[nodiscard]] Colour at(std::size_t index) const {
        const std::uint32_t pixel = pixels[index];
        return {static_cast<std::uint8_t>(pixel >> 16U), static_cast<std::uint8_t>(pixel >> 8U),
                static_cast<std::uint8_t>(pixel)};
    }
};

inline Picture drawn(int width, int height, const std::function<void(cairo_t*)>& draw) {
    Picture picture{width, height, std::vector<std::uint32_t>(static_cast<std::size_t>(width) * height)};
    cairo_surface_t* surface = cairo_image_surface_create(CAIRO_FORMAT_RGB24, width, height);
    cairo_t* cairo = cairo_create(surface);
    draw(cairo);
    cairo_destroy(cairo);
    cairo_surface_flush(surface);
    for (int y = 0; y < height; ++y)
        std::memcpy(&picture.pixels[static_cast<std::size_t>(y) * width],
                    cairo_image_surface_get_data(surface) + std::ptrdiff_t{y} * cairo_image_surface_get_stride(surface),
                    static_cast<std::size_t>(width) * 4);
    cairo_surface_destroy(surface);
    for (std::uint32_t& pixel : picture.pixels) pixel &= 0xFFFFFFU;
    return picture;
}

inline Picture stage(const StageView& view, HostTime shown_at, StageSize size = {320, 180},
                     Theme theme = Theme::dark_hall) {
    return drawn(size.width, size.height, [&](cairo_t* cairo) { draw_stage(cairo, view, shown_at, size, theme); });
}

inline const HostTime start{Duration{50'000'000'000}};

inline AttackTimeline single() {
    return {AttackKind::single,
            {{Phase::lift, false, 140ms},
             {Phase::up, false, 220ms},
             {Phase::pull_back, false, 180ms},
             {Phase::drop, false, 160ms},
             {Phase::gap, false, 250ms}},
            {}};
}

inline AttackTimeline feint(Duration length, Duration lift) {
    return {AttackKind::feint, {{Phase::lift, false, length}}, lift};
}

inline StageView live(std::vector<StageAttack> attacks) {
    StageView view;
    view.screen = StageScreen::live;
    view.athlete = "Heron";
    view.rep = 7;
    view.reps = 10;
    view.zone = AthleteZone::between;
    view.attacks = std::move(attacks);
    return view;
}

}  // namespace pixels
