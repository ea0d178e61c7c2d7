#include "core/reading/context_tree.hpp"

#include <cmath>

namespace breakstep::reading {
namespace {

std::size_t nodes_of(std::size_t symbols) { return 1 + symbols * (1 + symbols * (1 + symbols)); }

}  // namespace

ContextTree::ContextTree(std::size_t symbols, std::array<std::uint8_t, depth> past)
    : symbols_(symbols),
      past_(past),
      counts_(nodes_of(symbols) * symbols),
      totals_(nodes_of(symbols)),
      log_ratios_(nodes_of(symbols)) {}

double ContextTree::estimate(std::size_t node, std::size_t symbol) const {
    const double alpha = pseudo_count(symbols_);
    return (counts_[node * symbols_ + symbol] + alpha) / (totals_[node] + static_cast<double>(symbols_) * alpha);
}

ContextTree::Path ContextTree::weigh() const {
    Path path;
    // Nodes are numbered as in a heap: the children of node k are k A + 1 .. k A + A.
    path.nodes[0] = 0;
    for (std::size_t level = 0; level < depth; ++level)
        path.nodes[level + 1] = path.nodes[level] * symbols_ + 1 + past_[depth - 1 - level];

    for (std::size_t level = depth + 1; level-- > 0;) {
        const std::size_t node = path.nodes[level];
        Probabilities& weighted = path.weighted[level];
        weighted = {};
        // Half the weight on the node itself, half on its children, each by what they have predicted so far.
        const double own = level == depth ? 1.0 : 1.0 / (1.0 + std::exp(-log_ratios_[node]));
        for (std::size_t symbol = 0; symbol < symbols_; ++symbol) {
            weighted[symbol] = own * estimate(node, symbol);
            if (level < depth) weighted[symbol] += (1.0 - own) * path.weighted[level + 1][symbol];
        }
    }
    return path;
}

Probabilities ContextTree::predict() const { return weigh().weighted[0]; }

void ContextTree::look(std::uint8_t symbol) {
    const Path path = weigh();
    for (std::size_t level = 0; level <= depth; ++level) {
        const std::size_t node = path.nodes[level];
        if (level < depth) log_ratios_[node] += std::log(estimate(node, symbol) / path.weighted[level + 1][symbol]);
        counts_[node * symbols_ + symbol] += 1.0;
        totals_[node] += 1.0;
    }
    past_ = {past_[1], past_[2], symbol};
}

}  // namespace breakstep::reading
