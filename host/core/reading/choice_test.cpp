#include "core/reading/choice_test.hpp"

#include <algorithm>
#include <cmath>

namespace breakstep::reading {

double habit_bound(std::size_t symbols) { return symbols == 2 ? 0.60 : symbols == 3 ? 0.45 : 0.40; }

ChoiceTest::ChoiceTest(std::size_t symbols, std::optional<double> bound)
    : symbols_(symbols), bound_(bound.value_or(habit_bound(symbols))), tree_(symbols) {
    constexpr std::array<double, predictor_count> priors{4.0, 2.0, 2.0, 1.0, 1.0, 1.5};
    for (std::size_t p = 0; p < predictor_count; ++p) log_weights_[p] = std::log(priors[p]);
    predict();
}

Probabilities ChoiceTest::shares() const {
    const double alpha = pseudo_count(symbols_);
    const double total = static_cast<double>(seen_) + static_cast<double>(symbols_) * alpha;
    Probabilities result{};
    for (std::size_t s = 0; s < symbols_; ++s) result[s] = (static_cast<double>(counts_[s]) + alpha) / total;
    return result;
}

Probabilities ChoiceTest::same_as(std::size_t ago, double probability) const {
    Probabilities result{};
    const auto others = static_cast<double>(symbols_ - 1);
    for (std::size_t s = 0; s < symbols_; ++s)
        result[s] = seen_ < ago           ? 1.0 / static_cast<double>(symbols_)
                    : s == past_[ago - 1] ? probability
                                          : (1.0 - probability) / others;
    return result;
}

void ChoiceTest::predict() {
    predictions_ = {tree_.predict(),
                    shares(),
                    same_as(1, repeat_.share()),
                    same_as(2, two_ago_.share()),
                    same_as(3, three_ago_.share()),
                    same_as(1, runs_[run_ - 1].share())};
    const double greatest = *std::max_element(log_weights_.begin(), log_weights_.end());
    std::array<double, predictor_count> weights;
    double total = 0;
    for (std::size_t p = 0; p < predictor_count; ++p) total += weights[p] = std::exp(log_weights_[p] - greatest);
    mixture_ = {};
    for (std::size_t p = 0; p < predictor_count; ++p)
        for (std::size_t s = 0; s < symbols_; ++s) mixture_[s] += weights[p] / total * predictions_[p][s];

    guess_ = {0, mixture_[0]};
    for (std::size_t s = 1; s < symbols_; ++s)
        if (mixture_[s] > guess_.probability + 1e-12) guess_ = {static_cast<std::uint8_t>(s), mixture_[s]};
}

void ChoiceTest::look(std::uint8_t symbol) {
    const bool hit = symbol == guess_.symbol;
    hits_ += hit ? 1 : 0;
    log_free_.add(std::log(static_cast<double>(symbols_) * mixture_[symbol]));
    log_mixture_.add(std::log(mixture_[symbol]));
    if (symbols_ <= 4) {
        const double stake = std::clamp((guess_.probability - bound_) / (1.0 - bound_), 0.0, 0.95);
        log_habit_.add(std::log(1.0 - stake + (hit ? stake / bound_ : 0.0)));
    }
    for (std::size_t p = 0; p < predictor_count; ++p) log_weights_[p] += std::log(predictions_[p][symbol]);
    // Only differences matter; taking the greatest off keeps the logarithms exact over a million choices.
    const double greatest = *std::max_element(log_weights_.begin(), log_weights_.end());
    for (double& weight : log_weights_) weight -= greatest;

    const bool again = seen_ >= 1 && symbol == past_[0];
    if (seen_ >= 1) {
        repeat_.add(again);
        run_of_now().add(again);
        repeats_ += again ? 1 : 0;
    }
    if (seen_ >= 2) two_ago_.add(symbol == past_[1]);
    if (seen_ >= 3) three_ago_.add(symbol == past_[2]);
    run_ = again ? std::min<std::size_t>(run_ + 1, 3) : 1;
    tree_.look(symbol);
    ++counts_[symbol];
    ++seen_;
    past_ = {symbol, past_[0], past_[1]};
    predict();
}

double ChoiceTest::log_pattern() const {
    double best = 0;
    for (const std::uint64_t n : counts_)
        if (n > 0) best += static_cast<double>(n) * std::log(static_cast<double>(n) / static_cast<double>(seen_));
    return log_mixture_.value() - best;
}

Predictor ChoiceTest::leader() const {
    return static_cast<Predictor>(std::max_element(log_weights_.begin(), log_weights_.end()) - log_weights_.begin());
}

}  // namespace breakstep::reading
