#include "core/reading/reading_method.hpp"

namespace breakstep::reading {

std::string_view word(ReadingMethod method) { return method == ReadingMethod::two_signs ? "two signs" : ""; }

std::optional<ReadingMethod> reading_method_from(std::string_view name) {
    for (const ReadingMethod method : {ReadingMethod::plain, ReadingMethod::two_signs})
        if (name == word(method)) return method;
    return std::nullopt;
}

TempoMethod bet_of(ReadingMethod method) {
    return method == ReadingMethod::two_signs ? TempoMethod::tight : TempoMethod::plain;
}

}  // namespace breakstep::reading
