// Settings, drill files and the rules of what comes next, from any text. Nothing crashes, a drill that is taken is one
// that can be run, and what is refused says why in words that can be printed.
#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <string>

#include "settings/drill_file.hpp"
#include "settings/next_file.hpp"

namespace {

using namespace breakstep;

void require(bool holds) {
    if (!holds) std::abort();
}

void require_printable(const Error& error) {
    const std::string text = error.text();
    require(!text.empty() && text.size() < 1500);
    for (const char byte : text) require(static_cast<unsigned char>(byte) >= 0x20 && byte != 0x7F);
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    if (size == 0) return 0;
    const std::string text(reinterpret_cast<const char*>(data) + 1, size - 1);
    switch (data[0] % 3) {
        case 0: {
            const auto drill = parse_drill(text, "any.toml", "any", Settings{});
            if (drill)
                require(in_range(*drill));
            else
                require_printable(drill.error());
            return 0;
        }
        case 1: {
            Settings settings;
            if (const auto read = parse_settings(text, "any.toml", settings); !read) {
                require_printable(read.error());
                require(settings == Settings{});
            }
            return 0;
        }
        default: {
            const auto rules = parse_next(text, "any.toml");
            if (rules)
                require(!rules->rules.empty());
            else
                require_printable(rules.error());
            return 0;
        }
    }
}
