#include "tools/demo_bouts.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <iostream>
#include <nlohmann/json.hpp>
#include <string>
#include <string_view>
#include <vector>

#include "cli/session_setup.hpp"
#include "settings/drill_file.hpp"
#include "tools/exchange_bouts.hpp"

namespace breakstep {
namespace {

using Json = nlohmann::ordered_json;
using leading::BoutOutcome;
using leading::FollowTest;
using leading::Who;

constexpr std::uint64_t bouts_seed = 20260803;
constexpr double published_bouts = 3000;
constexpr std::uint32_t reference_bouts = 1000;  // of the pure fold alone, of other seeds
constexpr std::size_t looks = leading::act_looks.size();

/// Somebody leads in these, or nobody; published shares by 20, 40 and 80 acts of B.
struct Cell {
    std::string_view kind;  ///< words of the published bout
    double follows = 0, variation = 0.20;
    std::array<double, looks> tell;
    bool one_promise = false;  ///< nobody leads: the promise is what counts
};
constexpr std::array cells{
    Cell{"both memoryless", 0, .20, {.0007, .0023, .0043}, true},
    Cell{"two metronomes 1.3 s, CV 15 %", 0, .20, {0, 0, .0023}, true},
    Cell{"A metronome CV 10 %, B reacts after 0.45 s CV 5 %", 0, .20, {0, 0, .0013}, true},
    Cell{"both memoryless", .5, .20, {.13, .45, .81}},
    Cell{"both memoryless", .7, .20, {.36, .79, .98}},
    Cell{"both memoryless", .9, .20, {.66, .96, 1.0}},
};
struct CoinCell {
    double follows;  ///< of the kicks, besides the quarter that steps in anyway
    double of_cues;  ///< so that an entry comes after so many cues
    std::int32_t first, last;
    double by_first, by_last;  ///< published; below 0: the promise of 1 in 20 alone
};
constexpr std::array coins{
    CoinCell{0, .25, 40, 120, -1, -1},
    CoinCell{.867, .9, 40, 80, .97, 1.0},
    CoinCell{.6, .7, 40, 80, .62, .90},
};
struct HabitCell {
    std::string_view words;
    Kicker kicker;
    scoring::PartnerHabit told;
};
constexpr std::array habits{
    HabitCell{"always after the second retreat", {.at_retreat = 2}, scoring::PartnerHabit::after_two_retreats},
    HabitCell{"at their own pace", {}, scoring::PartnerHabit::none},
    HabitCell{"on a beat of 3 s", {.beat = 3.0}, scoring::PartnerHabit::none},
};

/// Simulated against simulated: three times root two standard errors, no nearer to 0 or 1 than one bout.
bool agrees(double seen, double bouts, double other, double other_bouts) {
    const double pooled = (seen * bouts + other * other_bouts) / (bouts + other_bouts);
    const double inside = std::clamp(pooled, 1 / (bouts + other_bouts), 1 - 1 / (bouts + other_bouts));
    return std::abs(seen - other) <= 3 * std::sqrt(inside * (1 - inside) * (1 / bouts + 1 / other_bouts)) + .005;
}
/// A promise of at most `most`, and three standard errors of it.
bool keeps(double seen, double most, double bouts) { return seen <= most + 3 * std::sqrt(most * (1 - most) / bouts); }

/// Score knows the entry at which it told: by how many acts of B?
BoutOutcome outcome_at_the_rig(const PlayedBout& played) {
    BoutOutcome outcome;
    const FollowTest& test = played.exchange.bout().a_follows_b();
    const auto acts_before = [&](std::uint64_t entry) {
        std::uint64_t entries = 0, of_b = 0;
        for (const leading::BoutAct& act : played.acts) {
            if (act.who == Who::b)
                ++of_b;
            else if (entries++ == entry)
                break;
        }
        return of_b;
    };
    for (std::size_t k = 0; k < looks; ++k) {
        outcome.tell[k] = test.tell_at() && acts_before(*test.tell_at()) <= leading::act_looks[k];
        outcome.hunch[k] = test.hunch_at() && acts_before(*test.hunch_at()) <= leading::act_looks[k];
    }
    outcome.wrong_way = played.exchange.bout().b_follows_a().sign() == Sign::tell;
    return outcome;
}

struct Shares {
    std::array<double, looks> tell{}, hunch{};
    double wrong_way = 0;
    void add(const BoutOutcome& outcome, double one) {
        for (std::size_t k = 0; k < looks; ++k) {
            tell[k] += outcome.tell[k] ? one : 0;
            hunch[k] += outcome.hunch[k] ? one : 0;
        }
        wrong_way += outcome.wrong_way ? one : 0;
    }
};
std::string triple(const std::array<double, looks>& shares) {
    return fmt::format("{:.3f} / {:.3f} / {:.3f}", shares[0], shares[1], shares[2]);
}

class Table {
  public:
    Table(ExchangeBouts& bouts, std::int32_t count, std::uint64_t seed)
        : played_(bouts), count_(count), one_(1.0 / count), seed_(seed) {}

    [[nodiscard]] Expected<void> leads(const Cell& cell);
    [[nodiscard]] Expected<void> coin(const CoinCell& cell);
    [[nodiscard]] Expected<void> habit(const HabitCell& cell);

    Json free = Json::array(), coins = Json::array(), habits = Json::array();
    std::uint64_t entries_missed = 0, lifts_missed = 0, otherwise = 0;
    bool right = true;

  private:
    [[nodiscard]] bool judge(Json& row, bool good) {
        row["within"] = good;
        right = right && good;
        return good;
    }
    ExchangeBouts& played_;
    std::int32_t count_;
    double one_;
    std::uint64_t seed_;
};

Expected<void> Table::leads(const Cell& cell) {
    const auto all = leading::leaderless();
    leading::BoutKind kind =
        *std::find_if(all.begin(), all.end(), [&](const auto& each) { return each.words == cell.kind; });
    kind.follows = cell.follows;
    kind.lag_variation = cell.variation;
    Shares rig, reference;
    // Bodies can't do all that the published law wants, so the fold is asked about what they can.
    for (std::uint32_t i = 0; i < reference_bouts; ++i)
        reference.add(leading::outcome_of(as_bodies_can(leading::acts_of(kind, ~seed_, i))), 1.0 / reference_bouts);
    for (std::int32_t i = 0; i < count_; ++i) {
        const auto acts = leading::acts_of(kind, seed_, static_cast<std::uint32_t>(i));
        const auto played = played_.play(acts, seed_ + static_cast<std::uint64_t>(i));
        if (!played) return tl::make_unexpected(played.error());
        const BoutOutcome outcome = outcome_at_the_rig(*played);
        rig.add(outcome, one_);
        // What the bodies did, folded without a rig: the same must be told.
        const BoutOutcome moved = leading::outcome_of(played->acts);
        otherwise += moved.tell != outcome.tell || moved.wrong_way != outcome.wrong_way ? 1 : 0;
        entries_missed += played->entries_missed;
        lifts_missed += played->lifts_missed;
    }
    bool good = keeps(rig.tell.back(), 0.025, count_);
    if (!cell.one_promise) {
        good = true;
        for (std::size_t k = 0; k < looks; ++k)
            good = good && agrees(rig.tell[k], count_, reference.tell[k], reference_bouts);
    }
    Json row{{"bout", cell.kind},           {"follows", cell.follows},
             {"told_at_the_rig", rig.tell}, {"told_by_the_fold", reference.tell},
             {"published", cell.tell},      {"b_follows_a_told", rig.wrong_way}};
    std::cerr << fmt::format("| {}{} | {} | {} | {} | {:.3f} |{}\n", cell.kind,
                             cell.follows > 0 ? fmt::format(", A follows {:.1f}", cell.follows) : "", triple(rig.tell),
                             triple(reference.tell), triple(cell.tell), rig.wrong_way,
                             judge(row, good) ? "" : " OUTSIDE");
    free.push_back(std::move(row));
    return {};
}

Expected<void> Table::coin(const CoinCell& cell) {
    double by_first = 0, by_last = 0;
    std::uint64_t after_cues = 0, cues = 0, after_nothing = 0, nothings = 0;
    for (std::int32_t i = 0; i < count_; ++i) {
        const auto played =
            played_.play(CoinFollower{.follows = cell.follows}, cell.last, seed_ + static_cast<std::uint64_t>(i));
        if (!played) return tl::make_unexpected(played.error());
        const leading::CoinDrill& drill = played->exchange.coin_drill();
        by_first += drill.makes_go() && drill.told_at() <= static_cast<std::uint64_t>(cell.first) ? one_ : 0;
        by_last += drill.makes_go() ? one_ : 0;
        after_cues += drill.after_cue().entered;
        cues += drill.after_cue().of;
        after_nothing += drill.after_nothing().entered;
        nothings += drill.after_nothing().of;
    }
    const bool good = cell.by_first < 0 ? keeps(by_last, 0.05, count_)
                                        : agrees(by_first, count_, cell.by_first, published_bouts) &&
                                              agrees(by_last, count_, cell.by_last, published_bouts);
    const double p = static_cast<double>(after_cues) / static_cast<double>(std::max<std::uint64_t>(1, cues)),
                 q = static_cast<double>(after_nothing) / static_cast<double>(std::max<std::uint64_t>(1, nothings));
    Json row{{"wanted_after_cues", cell.of_cues},
             {"entered_after_cues", p},
             {"entered_after_nothing", q},
             {"trials", {cell.first, cell.last}},
             {"told", {by_first, by_last}}};
    row["published"] = cell.by_first < 0 ? Json(nullptr) : Json{cell.by_first, cell.by_last};
    std::cerr << fmt::format(
        "| coin: goes after {:.2f} of cues, {:.2f} of nothing | by {} / {}: {:.3f} / {:.3f} | {} |{}\n", p, q,
        cell.first, cell.last, by_first, by_last,
        cell.by_first < 0 ? std::string("at most .05") : fmt::format("{:.2f} / {:.2f}", cell.by_first, cell.by_last),
        judge(row, good) ? "" : " OUTSIDE");
    coins.push_back(std::move(row));
    return {};
}

Expected<void> Table::habit(const HabitCell& cell) {
    double told = 0, anything = 0;
    std::string words;
    for (std::int32_t i = 0; i < count_; ++i) {
        const auto played = played_.play(cell.kicker, seed_ + static_cast<std::uint64_t>(i));
        if (!played) return tl::make_unexpected(played.error());
        const auto habit = played->exchange.partner_habit();
        told += habit == cell.told ? one_ : 0;
        anything += habit != scoring::PartnerHabit::none ? one_ : 0;
        if (words.empty()) words = partner_habit_words(played->exchange, "Curlew");
    }
    const bool has_one = cell.told != scoring::PartnerHabit::none;
    // Who always does it is told in nine of ten bouts of three minutes.
    const bool good = has_one ? told >= 0.9 : keeps(anything, 0.05, count_);
    Json row{{"partner", cell.words}, {"told", has_one ? told : anything}, {"words", words}};
    std::cerr << fmt::format("| a partner who kicks {} | told in {:.3f} | {} |{}\n", cell.words,
                             has_one ? told : anything, words, judge(row, good) ? "" : " OUTSIDE");
    habits.push_back(std::move(row));
    return {};
}

}  // namespace

int run_demo_bouts(const CommonOptions& options, std::int32_t bouts) {
    const auto settings = load_settings(options.settings);
    if (!settings) return complain(settings.error());
    const auto free = load_drill("free-exchange", *settings), coin = load_drill("who-makes-whom-go", *settings);
    if (!free) return complain(free.error());
    if (!coin) return complain(coin.error());
    const std::uint64_t seed = options.has_seed ? options.seed : bouts_seed;
    ExchangeBouts played(*free, *coin, seed);
    Table table(played, bouts, seed);
    std::cerr << fmt::format("{} bouts a row, seed {}, through the simulated rig\n\n", bouts, seed)
              << "| bout | told by 20 / 40 / 80 acts of B, at the rig | by the pure fold of what bodies can do | "
                 "published, without bodies | \"B follows A\" |\n";
    for (const Cell& cell : cells)
        if (const auto done = table.leads(cell); !done) return complain(done.error());
    for (const CoinCell& cell : coins)
        if (const auto done = table.coin(cell); !done) return complain(done.error());
    for (const HabitCell& cell : habits)
        if (const auto done = table.habit(cell); !done) return complain(done.error());
    const std::string missed =
        fmt::format("{} entries and {} toe-offs that no gate told; {} bouts told otherwise than the pure fold of them",
                    table.entries_missed, table.lifts_missed, table.otherwise);
    std::cerr << '\n' << missed << '\n';
    const bool right = table.right && table.otherwise == 0;
    if (options.json)
        std::cout << Json{{"seed", seed},
                          {"bouts", bouts},
                          {"free_exchange", table.free},
                          {"coin_drill", table.coins},
                          {"partner_habits", table.habits},
                          {"entries_missed", table.entries_missed},
                          {"lifts_missed", table.lifts_missed},
                          {"told_otherwise", table.otherwise}}
                         .dump()
                  << '\n';
    else
        std::cout << (right ? "every row within its limit\n" : "not every row within its limit\n");
    return right ? exit_done : exit_failed;
}

}  // namespace breakstep
