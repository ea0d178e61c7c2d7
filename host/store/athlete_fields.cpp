#include "store/athlete_fields.hpp"

#include <tuple>

namespace breakstep {
namespace {

/// Calls `with` with what belongs to the field, of as many athletes as were given.
template <class With, class... Athletes>
auto with_field(std::string_view field, With&& with, Athletes&... athletes) {
    if (field == "call_sign") return with(athletes.call_sign...);
    if (field == "real_name") return with(athletes.real_name...);
    if (field == "grade") return with(athletes.grade...);
    if (field == "height_band") return with(athletes.height_band...);
    if (field == "training_group") return with(athletes.group...);
    if (field == "notes") return with(athletes.notes...);
    if (field == "lead") return with(athletes.lead...);
    if (field == "birth_year") return with(athletes.birth_year...);
    if (field == "placed") return with(std::tie(athletes.placed_rung, athletes.placed_on)...);
    return with(std::tie(athletes.consent, athletes.consent_refused_on, athletes.consent_share_on)...);
}

}  // namespace

bool is_same_field(std::string_view field, const Athlete& a, const Athlete& b) {
    return with_field(
        field, [](const auto& x, const auto& y) { return x == y; }, a, b);
}

void copy_field(std::string_view field, const Athlete& from, Athlete& to) {
    with_field(
        field, [](const auto& x, auto&& y) { y = x; }, from, to);
}

}  // namespace breakstep
