#include "desk/pages/qr.hpp"

#include <qrencode.h>

#include <memory>

#include "desk/web/message.hpp"

namespace breakstep::desk {
namespace {

constexpr int quiet_zone = 4;  // modules around it, as ISO/IEC 18004 asks

struct FreeCode {
    void operator()(QRcode* code) const { QRcode_free(code); }
};
using Code = std::unique_ptr<QRcode, FreeCode>;

Expected<Code> code_of(const std::string& text) {
    Code code(QRcode_encodeString8bit(text.c_str(), 0, QR_ECLEVEL_M));
    if (!code) return failure(ErrorKind::bad_input, "no QR code can be made of that address", "type it instead");
    return code;
}

bool is_dark(const QRcode& code, int x, int y) {
    if (x < 0 || y < 0 || x >= code.width || y >= code.width) return false;
    return (code.data[y * code.width + x] & 1U) != 0;
}

}  // namespace

Expected<std::string> qr_svg(const std::string& text) {
    const auto code = code_of(text);
    if (!code) return tl::make_unexpected(code.error());
    const int size = (*code)->width + 2 * quiet_zone;
    const std::string side = std::to_string(size);
    std::string svg = "<svg class=\"qr\" role=\"img\" viewBox=\"0 0 ";
    svg += side + " " + side + "\" shape-rendering=\"crispEdges\" aria-label=\"QR code of " + html(text) +
           "\"><rect width=\"" + side + "\" height=\"" + side + "\" fill=\"#fff\"/><path fill=\"#10191c\" d=\"";
    for (int y = 0; y < (*code)->width; ++y)
        for (int x = 0; x < (*code)->width; ++x)
            if (is_dark(**code, x, y))
                svg += "M" + std::to_string(x + quiet_zone) + " " + std::to_string(y + quiet_zone) + "h1v1h-1z";
    return svg + "\"/></svg>";
}

Expected<std::string> qr_lines(const std::string& text) {
    const auto code = code_of(text);
    if (!code) return tl::make_unexpected(code.error());
    std::string lines;
    for (int y = -quiet_zone; y < (*code)->width + quiet_zone; y += 2) {
        lines += "\x1b[30;107m";
        for (int x = -quiet_zone; x < (*code)->width + quiet_zone; ++x) {
            const bool upper = is_dark(**code, x, y), lower = is_dark(**code, x, y + 1);
            lines += upper && lower ? "\u2588" : upper ? "\u2580" : lower ? "\u2584" : " ";
        }
        lines += "\x1b[0m\n";
    }
    return lines;
}

}  // namespace breakstep::desk
