// The styles and scripts that the pages use, as they stand in desk/browser, built into the program. Constants; any
// thread; cannot fail.
#pragma once

#include <string>
#include <string_view>

namespace breakstep::desk {

struct BrowserFile {
    std::string path, type, text;
};
/// "/desk.css"; null for none of them.
[[nodiscard]] const BrowserFile* browser_file(std::string_view path);

}  // namespace breakstep::desk
