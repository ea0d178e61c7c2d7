// An address as a QR code, dark on white whatever the hall. Pure; any thread. Fails where the address is too long.
#pragma once

#include <string>

#include "core/error.hpp"

namespace breakstep::desk {

/// An <svg> element with the picture and its own words for who can't see it.
[[nodiscard]] Expected<std::string> qr_svg(const std::string& text);
/// Lines of half blocks for a terminal, with its colours.
[[nodiscard]] Expected<std::string> qr_lines(const std::string& text);

}  // namespace breakstep::desk
