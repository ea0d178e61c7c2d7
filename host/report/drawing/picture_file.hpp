// Pictures into files: the same drawing as PNG, SVG or PDF, by the file's ending.
// Any thread. Errors: an ending that is none of these, a file that can't be written.
#pragma once

#include <functional>
#include <string>

#include "core/error.hpp"

typedef struct _cairo cairo_t;

namespace breakstep {

/// `width` and `height` in pixels for .png, in points for .svg and .pdf. `draw` is called once.
[[nodiscard]] Expected<void> write_picture(const std::string& path, double width, double height,
                                           const std::function<void(cairo_t*)>& draw);

}  // namespace breakstep
