// One list, read as one drill: intervals with the tempo test, choices with the choice test. Judged after each event,
// since nothing else is at stake. Main thread; memory does not grow with the list; cannot fail.
#pragma once

#include <cstdint>
#include <optional>
#include <string>

#include "cli/timeable/options.hpp"
#include "core/reading/choice_test.hpp"
#include "core/reading/reasons.hpp"
#include "core/reading/tempo_test.hpp"
#include "core/reading/timeable_index.hpp"

namespace breakstep::timeable {

/// What a list told.
struct ListResult {
    std::uint64_t events = 0;
    std::uint64_t too_short = 0;  ///< intervals of at most the shortest: nothing is won on those, whatever they keep to
    std::uint64_t over_a_minute = 0;                 ///< intervals
    std::optional<std::uint64_t> hunch_at, tell_at;  ///< the event, from 1
    double wealth = 1;
    std::uint64_t hits = 0;          ///< windows hit, or choices guessed
    std::uint64_t scored = 0;        ///< windows announced, or choices
    double chance = 0;               ///< hits expected of one who can't be timed or guessed
    std::optional<double> timeable;  ///< of intervals, where it may be shown
    reading::Interval95 timeable_interval;
    std::optional<std::string> cause;  ///< of the strongest sign
    std::string words;                 ///< the reason, in a coach's words; "" without a sign
    std::string count_words;           ///< "7 of 10 caught, luck 2"
};

class IntervalList {
  public:
    explicit IntervalList(const Options& options) : shortest_(options.shortest), test_(options.method) {}
    void add(Duration interval);
    [[nodiscard]] ListResult result() const;

  private:
    Duration shortest_;
    reading::TempoTest test_;
    reading::HitTally tally_;
    ListResult so_far_;
};

class ChoiceList {
  public:
    explicit ChoiceList(const Options& options) : habit_(options.habit), test_(options.symbols) {}
    void add(std::uint8_t symbol);
    [[nodiscard]] ListResult result() const;

  private:
    bool habit_;
    reading::ChoiceTest test_;
    ListResult so_far_;
};

}  // namespace breakstep::timeable
