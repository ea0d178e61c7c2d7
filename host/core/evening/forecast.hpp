// What a block of rounds will take, told before it begins: the evening fold itself, played with sets that take as long
// as they should and athletes who come when they are called. Pure; any thread; can't fail.
#pragma once

#include <functional>
#include <optional>

#include "core/evening/evening.hpp"

namespace breakstep::evening {

struct Forecast {
    std::int32_t athletes = 0, sets = 0;  ///< who is called, and asked of all together
    std::int32_t sets_that_fit = 0;
    Duration needed{};  ///< for all of them, rests included
    [[nodiscard]] bool fits() const { return sets_that_fit >= sets; }
};

using DoseOf = std::function<std::optional<DoseGiven>(const Person&, const Block&)>;
/// `people`: who is here, in the order in which they came.
[[nodiscard]] Forecast forecast(const std::vector<AthleteCame>& people, const Block& block, const DoseOf& dose);

}  // namespace breakstep::evening
