#include "core/leading/move_follow.hpp"

#include <algorithm>
#include <cmath>

#include "core/error.hpp"

namespace breakstep::leading {
namespace {

constexpr std::array<double, 4> priors{4.0 / 9, 2.0 / 9, 2.0 / 9, 1.0 / 9};

double n_log_n(double n) { return n > 0 ? n * std::log(n) : 0.0; }

}  // namespace

MoveFollow::MoveFollow(std::size_t symbols) : symbols_(symbols), log_weights_{}, own_(symbols) {
    if (symbols < 2 || symbols > 4) broken_invariant("moves have two to four symbols");
    const std::size_t n = symbols;
    const std::array<std::size_t, tables> contexts{n, n * n, n * n, n * n * n};
    for (std::size_t t = 0; t < tables; ++t) {
        counts_[t].assign(contexts[t] * n, 0.0);
        log_weights_[t] = std::log(priors[t]);
    }
    own_counts_.assign(n * n * n, 0.0);
}

MoveFollow::Contexts MoveFollow::contexts() const {
    const std::size_t n = symbols_, b1 = others_[0], b2 = others_[1], a1 = owns_[0];
    return {b1, b1 * n + a1, b1 * n + b2, (b1 * n + b2) * n + a1};
}

double MoveFollow::chance(std::size_t table, std::size_t context, std::uint8_t symbol) const {
    const double alpha = symbols_ == 2 ? 0.5 : 1.0 / static_cast<double>(symbols_);
    const double* row = counts_[table].data() + context * symbols_;
    double all = 0;
    for (std::size_t s = 0; s < symbols_; ++s) all += row[s];
    return (row[symbol] + alpha) / (all + alpha * static_cast<double>(symbols_));
}

void MoveFollow::count_own(std::uint8_t move) {
    // The best chain's chance is the product of N^N / N.^N. over its pasts, kept up row by row.
    double* row = own_counts_.data() + (owns_[0] * symbols_ + owns_[1]) * symbols_;
    double all = 0;
    for (std::size_t s = 0; s < symbols_; ++s) all += row[s];
    log_own_chain_ += n_log_n(row[move] + 1) - n_log_n(row[move]) - n_log_n(all + 1) + n_log_n(all);
    row[move] += 1;
}

void MoveFollow::other_moved(std::uint8_t move) {
    if (move >= symbols_) broken_invariant("a move is not one of its symbols");
    others_ = {move, others_[0]};
}

void MoveFollow::moved(std::uint8_t move) {
    if (move >= symbols_) broken_invariant("a move is not one of its symbols");
    const Contexts at = contexts();
    std::array<double, 4> mixture{};
    for (std::size_t s = 0; s < symbols_; ++s)
        for (std::size_t t = 0; t < tables; ++t)
            mixture[s] += std::exp(log_weights_[t]) * chance(t, at[t], static_cast<std::uint8_t>(s));
    std::size_t guess = 0;
    for (std::size_t s = 1; s < symbols_; ++s)
        if (mixture[s] > mixture[guess] + 1e-12) guess = s;
    hits_ += guess == move ? 1 : 0;
    log_cross_.add(std::log(mixture[move]));
    for (std::size_t t = 0; t < tables; ++t) {
        log_weights_[t] += std::log(chance(t, at[t], move) / mixture[move]);
        counts_[t][at[t] * symbols_ + move] += 1;
    }
    log_own_mixture_.add(std::log(own_.probabilities()[move]));
    own_.look(move);
    count_own(move);
    owns_ = {move, owns_[0]};
    most_log_e_ = std::max(most_log_e_, log_e());
}

double MoveFollow::log_e() const { return log_cross_.value() - std::max(log_own_chain_, log_own_mixture_.value()); }

bool MoveFollow::ever_reached(double wealth) const { return most_log_e_ >= std::log(wealth); }

}  // namespace breakstep::leading
