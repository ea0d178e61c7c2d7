#include "club/results/comparison.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cstddef>

#include "core/trade/vocabulary.hpp"

namespace breakstep {
namespace {

constexpr std::size_t named_max = 5;

std::string reps_words(std::size_t count) { return fmt::format("{} {}", count, count == 1 ? "rep" : "reps"); }

std::string difference(const RepResult& scored, const RepResult& kept) {
    const std::string where = fmt::format("set {} rep {}", scored.set + 1, scored.number);
    if (scored.verdict == kept.verdict) return where + " (other figures)";
    return fmt::format("{} ({}, kept as {})", where, word(scored.verdict), word(kept.verdict));
}

}  // namespace

std::string comparison_words(std::span<const RepResult> scored, std::span<const RepResult> kept) {
    const std::size_t both = std::min(scored.size(), kept.size());
    std::size_t differing = 0;
    std::string named;
    for (std::size_t i = 0; i < both; ++i) {
        if (scored[i] == kept[i]) continue;
        if (++differing <= named_max) named += (named.empty() ? "" : ", ") + difference(scored[i], kept[i]);
    }
    if (differing > named_max) named += fmt::format(" and {} more", differing - named_max);
    if (scored.size() != kept.size()) {
        const std::string counts = fmt::format("differs from what was kept: {} by the journal, {} kept",
                                               reps_words(scored.size()), kept.size());
        if (differing == 0) return counts;
        return fmt::format("{}; of those in both {} {}: {}", counts, differing, differing == 1 ? "differs" : "differ",
                           named);
    }
    if (differing > 0)
        return fmt::format("differs from what was kept in {} of {}: {}", differing, reps_words(both), named);
    if (scored.empty()) return "the same as what was kept: no rep";
    return fmt::format("the same as what was kept, {}{}", scored.size() == 1 ? "" : "all ", reps_words(scored.size()));
}

}  // namespace breakstep
