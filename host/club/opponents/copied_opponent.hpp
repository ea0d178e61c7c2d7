// A partner as an opponent: learned from their kept partner drills, written as a file of config/opponents' kind that
// says of whom it is a copy, so that erasing them finds it.
//
// Main thread. Fails as the store does; and (bad_input) where the partner has not said yes, or has kicked too seldom
// unasked.
#pragma once

#include <cstdint>
#include <filesystem>
#include <optional>
#include <string>
#include <string_view>

#include "core/copying/partner_study.hpp"
#include "core/error.hpp"
#include "settings/settings.hpp"
#include "store/kept.hpp"

namespace breakstep {

/// Whether somebody may be copied, and a copy of them kept: by a yes that was given and holds; `invented`: nobody,
/// whose yes is taken for granted until they say otherwise.
[[nodiscard]] bool agrees_to_a_copy(const Athlete& partner, std::string_view today, bool invented);

/// What the sessions in which the athlete was the partner teach. A consent that was given and holds is asked for: it is
/// more than a result of theirs. `simulated`: nobody, whose yes is taken for granted.
[[nodiscard]] Expected<copying::PartnerCopy> study_partner(const Kept& store, const Athlete& partner,
                                                           std::string_view today, bool simulated);

/// The opponent's file. `name` is that of the opponent.
[[nodiscard]] std::string opponent_text(const copying::PartnerCopy& copy, const Athlete& partner);
/// "copy-of-curlew": of letters and digits, what else stands in the call-sign left out; by id where nothing remains.
[[nodiscard]] std::string opponent_name(const Athlete& partner);

/// The last day of the yes it was made with; "" where it has none.
[[nodiscard]] std::string yes_of_copy_ends(const std::filesystem::path& path);
/// Of whom the file is a copy; null for any other file.
[[nodiscard]] std::optional<std::uint64_t> copied_from(const std::filesystem::path& path);

}  // namespace breakstep
