#include "report/drawing/picture_file.hpp"

#include <cairo-pdf.h>
#include <cairo-svg.h>
#include <cairo.h>

#include <cmath>
#include <memory>
#include <optional>

#include "files/new_file.hpp"

namespace breakstep {
namespace {

struct Free {
    void operator()(cairo_surface_t* surface) const { cairo_surface_destroy(surface); }
    void operator()(cairo_t* cairo) const { cairo_destroy(cairo); }
};

tl::unexpected<Error> not_drawn(cairo_status_t status) {
    const bool memory = status == CAIRO_STATUS_NO_MEMORY;
    return failure(ErrorKind::system, std::string("the picture can't be drawn: ") + cairo_status_to_string(status),
                   memory ? "choose a smaller size" : "report this as a fault of the program");
}

cairo_status_t append_to(void* bytes, const unsigned char* part, unsigned int count) {
    static_cast<std::string*>(bytes)->append(reinterpret_cast<const char*>(part), count);
    return CAIRO_STATUS_SUCCESS;
}

cairo_surface_t* surface_for(PictureFormat format, double width, double height, std::string& bytes) {
    switch (format) {
        case PictureFormat::png:
            return cairo_image_surface_create(CAIRO_FORMAT_RGB24, static_cast<int>(std::lround(width)),
                                              static_cast<int>(std::lround(height)));
        case PictureFormat::svg:
            return cairo_svg_surface_create_for_stream(append_to, &bytes, width, height);
        case PictureFormat::pdf:
            return cairo_pdf_surface_create_for_stream(append_to, &bytes, width, height);
    }
    return nullptr;
}

std::optional<PictureFormat> format_of(const std::string& path) {
    if (path.ends_with(".png")) return PictureFormat::png;
    if (path.ends_with(".svg")) return PictureFormat::svg;
    if (path.ends_with(".pdf")) return PictureFormat::pdf;
    return std::nullopt;
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

Expected<std::string> draw_pages(PictureFormat format, double width, double height,
                                 const std::vector<std::function<void(cairo_t*)>>& pages, const PictureFacts& facts) {
    if (pages.size() != 1 && format != PictureFormat::pdf)
        return failure(ErrorKind::bad_input, "a picture can hold one page, not " + std::to_string(pages.size()),
                       "write each to its own file");
    std::string bytes;
    const std::unique_ptr<cairo_surface_t, Free> surface(surface_for(format, width, height, bytes));
    tell_facts(surface.get(), facts);
    cairo_status_t status = CAIRO_STATUS_SUCCESS;
    {
        const std::unique_ptr<cairo_t, Free> cairo(cairo_create(surface.get()));
        for (const auto& draw : pages) {
            draw(cairo.get());
            if (format == PictureFormat::pdf) cairo_show_page(cairo.get());
        }
        status = cairo_status(cairo.get());
    }
    if (status != CAIRO_STATUS_SUCCESS) return not_drawn(status);
    if (format == PictureFormat::png) {
        status = cairo_surface_write_to_png_stream(surface.get(), append_to, &bytes);
    } else {
        cairo_surface_finish(surface.get());
        status = cairo_surface_status(surface.get());
    }
    if (status != CAIRO_STATUS_SUCCESS) return not_drawn(status);
    return bytes;
}

Expected<void> write_picture(const std::string& path, double width, double height,
                             const std::function<void(cairo_t*)>& draw) {
    const auto format = format_of(path);
    if (!format)
        return failure(ErrorKind::bad_input, "a picture can't be written to " + path + ": its ending is unknown",
                       "end the name in .png, .svg or .pdf");
    const auto bytes = draw_pages(*format, width, height, {draw}, {});
    if (!bytes) return tl::make_unexpected(bytes.error());
    return files::write_whole(path, *bytes, files::Existing::replace);
}

}  // namespace breakstep
