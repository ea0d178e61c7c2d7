#include "report/pages/page_picture.hpp"

#include <cairo-svg.h>
#include <cairo.h>

#include <memory>

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

Expected<std::string> page_svg(const std::function<void(cairo_t*)>& draw) {
    std::string svg;
    const auto take = [](void* to, const unsigned char* bytes, unsigned int count) {
        static_cast<std::string*>(to)->append(reinterpret_cast<const char*>(bytes), count);
        return CAIRO_STATUS_SUCCESS;
    };
    const std::unique_ptr<cairo_surface_t, decltype(&cairo_surface_destroy)> surface(
        cairo_svg_surface_create_for_stream(take, &svg, page_width, page_height), cairo_surface_destroy);
    {
        const std::unique_ptr<cairo_t, decltype(&cairo_destroy)> cairo(cairo_create(surface.get()), cairo_destroy);
        draw(cairo.get());
        cairo_show_page(cairo.get());
    }
    cairo_surface_finish(surface.get());
    if (const cairo_status_t status = cairo_surface_status(surface.get()); status != CAIRO_STATUS_SUCCESS)
        return failure(ErrorKind::system, std::string("the page can't be drawn: ") + cairo_status_to_string(status),
                       "try again");
    return svg;
}

}  // namespace breakstep::pages
