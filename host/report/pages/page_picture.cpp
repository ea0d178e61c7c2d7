#include "report/pages/page_picture.hpp"

#include <cairo.h>

#include "report/drawing/picture_file.hpp"
#include "report/pages/sheet.hpp"

namespace breakstep::pages {

Expected<void> write_page_picture(const std::string& path, const std::function<void(cairo_t*)>& draw) {
    constexpr int width = 1240, height = 1754;
    return write_picture(path, width, height, [&](cairo_t* cairo) {
        cairo_scale(cairo, width / page_width, width / page_width);
        draw(cairo);
    });
}

}  // namespace breakstep::pages
