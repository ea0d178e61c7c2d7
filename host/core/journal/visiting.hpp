// Visits of a variant that must name each of its kinds: std::visit(Overloaded{...}, event). A kind that nobody named
// does not compile, so that whoever adds one is led to each place that has to say what it does with it. What a visitor
// leaves alone it lists too: [](const OneOf<PadHit, GateEdge> auto&) {}. Pure; any thread.
#pragma once

#include <concepts>

namespace breakstep {

template <class... Visits>
struct Overloaded : Visits... {
    using Visits::operator()...;
};

template <class... Visits>
Overloaded(Visits...) -> Overloaded<Visits...>;  // clang 14 does not deduce it by itself

template <class Kind, class... Kinds>
concept OneOf = (std::same_as<Kind, Kinds> || ...);

}  // namespace breakstep
