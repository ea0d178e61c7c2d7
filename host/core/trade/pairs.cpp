#include "core/trade/pairs.hpp"

#include "core/random.hpp"
#include "core/trade/plan.hpp"

namespace breakstep {
namespace {

/// One pair's attacks for a round: by shares, shuffled in blocks, so that nobody can count out what is left.
std::vector<std::int32_t> order_of(const Drill& drill, std::size_t cues, Random& random) {
    std::vector<std::int32_t> block;
    for (std::size_t i = 0; i < drill.attacks.size(); ++i)
        block.insert(block.end(), static_cast<std::size_t>(drill.attacks[i].share), static_cast<std::int32_t>(i));
    std::vector<std::int32_t> order;
    while (order.size() < cues) {
        random.shuffle(block);
        order.insert(order.end(), block.begin(), block.end());
    }
    order.resize(cues);
    return order;
}

}  // namespace

std::vector<PairsRound> plan_pairs(const Drill& drill, std::uint64_t seed, const PairsOptions& options) {
    const auto cues = static_cast<std::size_t>(options.cues);
    Random times(seed, 1);
    std::vector<PairsRound> rounds;
    Duration at{};
    for (std::int32_t r = 0; r < options.rounds; ++r) {
        PairsRound round;
        round.first_attacks = r % 2 == 0;
        round.change_from = at;
        round.begin = at = at + options.change_over;
        round.cues.resize(cues);
        for (PairsCue& cue : round.cues) {
            cue.at = at += draw_wait(options.pause, options.pause_extra, times);
            cue.until = at = at + options.window;
        }
        round.end = at = at + options.pause;
        for (std::int32_t pair = 0; pair < options.pairs; ++pair) {
            // A seed of its own, so that another pair more changes nobody else's. Far apart: neighbours draw alike.
            constexpr std::uint64_t apart = 0x9E3779B97F4A7C15;
            Random own(seed + apart * (64 * static_cast<std::uint64_t>(r) + static_cast<std::uint64_t>(pair) + 1), 2);
            const auto order = order_of(drill, cues, own);
            for (std::size_t i = 0; i < cues; ++i) round.cues[i].attacks.push_back(order[i]);
        }
        rounds.push_back(std::move(round));
    }
    return rounds;
}

}  // namespace breakstep
