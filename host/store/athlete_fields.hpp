// An athlete's fields as they are changed and merged: each by itself, but for consent, whose parts are one answer.
// Pure; any thread; cannot fail.
#pragma once

#include <array>
#include <string_view>

#include "store/store_rows.hpp"

namespace breakstep {

inline constexpr std::array<std::string_view, 10> athlete_fields{"call_sign",      "real_name", "grade", "height_band",
                                                                 "training_group", "notes",     "lead",  "birth_year",
                                                                 "consent",        "placed"};

[[nodiscard]] bool is_same_field(std::string_view field, const Athlete& a, const Athlete& b);
void copy_field(std::string_view field, const Athlete& from, Athlete& to);

}  // namespace breakstep
