// A page as a picture: for the README A4 at 150 dots an inch, for a browser SVG. Any thread. Errors: those of
// write_picture().
#pragma once

#include <functional>
#include <string>

#include "core/error.hpp"

typedef struct _cairo cairo_t;

namespace breakstep::pages {

/// `draw` is called once, with a page's own units.
[[nodiscard]] Expected<void> write_page_picture(const std::string& path, const std::function<void(cairo_t*)>& draw);

/// A page as SVG in a text. Fails (system) where cairo does.
[[nodiscard]] Expected<std::string> page_svg(const std::function<void(cairo_t*)>& draw);

}  // namespace breakstep::pages
