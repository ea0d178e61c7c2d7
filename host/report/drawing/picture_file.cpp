#include "report/drawing/picture_file.hpp"

#include <cairo-pdf.h>
#include <cairo-svg.h>
#include <cairo.h>

#include <cmath>
#include <memory>

namespace breakstep {
namespace {

struct Free {
    void operator()(cairo_surface_t* surface) const { cairo_surface_destroy(surface); }
    void operator()(cairo_t* cairo) const { cairo_destroy(cairo); }
};

tl::unexpected<Error> not_written(const std::string& path, cairo_status_t status) {
    const bool full = status == CAIRO_STATUS_NO_MEMORY;
    return failure(
        ErrorKind::system, "the picture " + path + " can't be written: " + cairo_status_to_string(status),
        full ? "choose a smaller size" : "look whether the folder is there, may be written to, and has room");
}

cairo_surface_t* surface_for(const std::string& path, double width, double height) {
    if (path.ends_with(".png"))
        return cairo_image_surface_create(CAIRO_FORMAT_RGB24, static_cast<int>(std::lround(width)),
                                          static_cast<int>(std::lround(height)));
    if (path.ends_with(".svg")) return cairo_svg_surface_create(path.c_str(), width, height);
    if (path.ends_with(".pdf")) return cairo_pdf_surface_create(path.c_str(), width, height);
    return nullptr;
}

void tell_facts(cairo_surface_t* surface, const PictureFacts& facts) {
    if (cairo_surface_get_type(surface) != CAIRO_SURFACE_TYPE_PDF) return;
    const auto tell = [surface](cairo_pdf_metadata_t what, const std::string& text) {
        if (!text.empty()) cairo_pdf_surface_set_metadata(surface, what, text.c_str());
    };
    tell(CAIRO_PDF_METADATA_TITLE, facts.title);
    tell(CAIRO_PDF_METADATA_CREATOR, facts.creator);
    if (!facts.date.empty()) tell(CAIRO_PDF_METADATA_CREATE_DATE, facts.date + "T00:00:00Z");
}

}  // namespace

Expected<void> write_pages(const std::string& path, double width, double height,
                           const std::vector<std::function<void(cairo_t*)>>& pages, const PictureFacts& facts) {
    const std::unique_ptr<cairo_surface_t, Free> surface(surface_for(path, width, height));
    if (surface == nullptr)
        return failure(ErrorKind::bad_input, "a picture can't be written to " + path + ": its ending is unknown",
                       "end the name in .png, .svg or .pdf");
    if (pages.size() != 1 && !path.ends_with(".pdf"))
        return failure(ErrorKind::bad_input, path + " can hold one page, not " + std::to_string(pages.size()),
                       "write each to its own file");
    tell_facts(surface.get(), facts);
    {
        const std::unique_ptr<cairo_t, Free> cairo(cairo_create(surface.get()));
        for (const auto& draw : pages) {
            draw(cairo.get());
            if (path.ends_with(".pdf")) cairo_show_page(cairo.get());
        }
        if (cairo_status(cairo.get()) != CAIRO_STATUS_SUCCESS) return not_written(path, cairo_status(cairo.get()));
    }
    cairo_status_t status = CAIRO_STATUS_SUCCESS;
    if (path.ends_with(".png")) {
        status = cairo_surface_write_to_png(surface.get(), path.c_str());
    } else {
        cairo_surface_finish(surface.get());
        status = cairo_surface_status(surface.get());
    }
    if (status != CAIRO_STATUS_SUCCESS) return not_written(path, status);
    return {};
}

Expected<void> write_picture(const std::string& path, double width, double height,
                             const std::function<void(cairo_t*)>& draw) {
    return write_pages(path, width, height, {draw}, {});
}

}  // namespace breakstep
