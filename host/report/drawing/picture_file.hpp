// Pictures into files: the same drawing as PNG, SVG or PDF, by the file's ending.
// Any thread. Errors: an ending that is none of these, a file that can't be written. A file appears whole.
#pragma once

#include <functional>
#include <string>
#include <vector>

#include "core/error.hpp"

typedef struct _cairo cairo_t;

namespace breakstep {

/// `width` and `height` in pixels for .png, in points for .svg and .pdf. `draw` is called once.
[[nodiscard]] Expected<void> write_picture(const std::string& path, double width, double height,
                                           const std::function<void(cairo_t*)>& draw);

/// What a .pdf says of itself. The same drawing and facts give the same file.
struct PictureFacts {
    std::string title;
    std::string creator;
    std::string date;  ///< ISO: "2024-09-30"
};

enum class PictureFormat { png, svg, pdf };

/// The bytes of a file of several pages, each drawn once; only a .pdf can hold more than one. Fails where the drawing
/// could not be finished: what comes back is whole.
[[nodiscard]] Expected<std::string> draw_pages(PictureFormat format, double width, double height,
                                               const std::vector<std::function<void(cairo_t*)>>& pages,
                                               const PictureFacts& facts);

}  // namespace breakstep
