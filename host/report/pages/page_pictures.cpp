#include <cairo.h>

#include <functional>

#include "report/drawing/picture_file.hpp"
#include "report/pages/invented.hpp"

namespace breakstep::pages {

Expected<void> write_page_pictures(const std::string& directory) {
    constexpr int width = 1240, height = 1754;  // A4 at 150 dots an inch
    const AthletePage athlete = invented_athlete_page();
    const GroupPage group = invented_group_page();
    const EveningPage evening = invented_evening_page();
    struct Named {
        const char* name;
        std::function<void(cairo_t*)> draw;
    };
    const Named pictures[] = {
        {"page-athlete.png", [&](cairo_t* cairo) { draw_athlete_page(cairo, athlete, Theme::paper); }},
        {"page-athlete-grey.png", [&](cairo_t* cairo) { draw_athlete_page(cairo, athlete, Theme::grey_paper); }},
        {"page-group.png", [&](cairo_t* cairo) { draw_group_page(cairo, group, 0, Theme::paper); }},
        {"page-evening.png", [&](cairo_t* cairo) { draw_evening_page(cairo, evening, 0, Theme::paper); }}};
    for (const Named& picture : pictures) {
        const auto written = write_picture(directory + "/" + picture.name, width, height, [&](cairo_t* cairo) {
            cairo_scale(cairo, width / page_width, width / page_width);
            picture.draw(cairo);
        });
        if (!written) return written;
    }
    return {};
}

}  // namespace breakstep::pages
