// The blocks of the evening: what they take, what does not fit, what could be done.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <iostream>

#include "cli/evening/dialog.hpp"
#include "core/evening/forecast.hpp"

namespace breakstep {
namespace {

using namespace evening;

double minutes(Duration length) { return static_cast<double>(length.count()) / 60e9; }

Duration total(const std::vector<Block>& blocks) {
    Duration all{};
    for (const Block& each : blocks) all += each.length;
    return all;
}

struct Remedy {
    std::string words;
    Block block;
};

class Planner {
  public:
    Planner(std::vector<Block> blocks, const ClubTonight& club) : blocks_(std::move(blocks)) {
        for (const Attending& each : club.attending()) people_.push_back(club.came(each));
        dose_ = [&club](const Person& person, const Block& block) { return club.dose(person, block); };
    }
    [[nodiscard]] std::vector<Block> ask();

  private:
    void show() const;
    [[nodiscard]] Forecast of(const Block& block) const { return forecast(people_, block, dose_); }
    [[nodiscard]] std::vector<Remedy> remedies(const Block& block) const;
    [[nodiscard]] std::int32_t most(const Block& block, std::int32_t DoseGiven::*what) const;

    std::vector<Block> blocks_;
    std::vector<AthleteCame> people_;
    DoseOf dose_;
};

void Planner::show() const {
    std::cout << '\n';
    for (const Block& block : blocks_) {
        std::cout << fmt::format("  {:>5.1f} min  {:<34}", minutes(block.length), block.title);
        if (block.kind == BlockKind::rounds) {
            const Forecast forecast = of(block);
            if (forecast.athletes == 0)
                std::cout << "nobody";
            else
                std::cout << fmt::format(
                    "{} athletes, {} sets, {:.1f} min{}", forecast.athletes, forecast.sets, minutes(forecast.needed),
                    forecast.fits() ? "" : fmt::format(": only {} sets fit", forecast.sets_that_fit));
        }
        std::cout << '\n';
    }
    std::cout << fmt::format("  {:>5.1f} min  in all\n", minutes(total(blocks_)));
}

std::int32_t Planner::most(const Block& block, std::int32_t DoseGiven::*what) const {
    std::int32_t found = 0;
    for (const AthleteCame& each : people_) {
        if (!calls(block, each.age)) continue;
        Person person;
        person.athlete = each.athlete;
        person.age = each.age;
        person.drill = each.drill;
        if (const auto dose = dose_(person, block)) found = std::max(found, (*dose).*what);
    }
    return found;
}

// Fewer sets, shorter sets, more minutes: each as little as will do.
std::vector<Remedy> Planner::remedies(const Block& block) const {
    std::vector<Remedy> all;
    for (std::int32_t sets = most(block, &DoseGiven::sets) - 1; sets >= 1; --sets) {
        Block fewer = block;
        fewer.sets = sets;
        if (!of(fewer).fits()) continue;
        all.push_back({fmt::format("{} {} each", sets, sets == 1 ? "set" : "sets"), fewer});
        break;
    }
    constexpr std::int32_t reps_least = 4;
    for (std::int32_t reps = most(block, &DoseGiven::reps) - 1; reps >= reps_least; --reps) {
        Block shorter = block;
        shorter.reps = reps;
        if (!of(shorter).fits()) continue;
        all.push_back({fmt::format("{} reps a set", reps), shorter});
        break;
    }
    Block longer = block;
    longer.length = std::chrono::ceil<std::chrono::minutes>(of(block).needed);
    all.push_back({fmt::format("{:.0f} minutes", minutes(longer.length)), longer});
    return all;
}

std::vector<Block> Planner::ask() {
    show();
    for (Block& block : blocks_) {
        if (block.kind != BlockKind::rounds || of(block).fits()) continue;
        const std::vector<Remedy> all = remedies(block);
        std::cout << fmt::format("\n\"{}\" is too short for everybody's sets:\n", block.title);
        for (std::size_t i = 0; i < all.size(); ++i) {
            const Duration whole = total(blocks_) - block.length + all[i].block.length;
            std::cout << fmt::format("  {}  {}: {:.1f} of {:.1f} min; the evening {:.1f} min\n", i + 1, all[i].words,
                                     minutes(of(all[i].block).needed), minutes(all[i].block.length), minutes(whole));
        }
        std::string line;
        while (asked("Which? (number; nothing leaves what does not fit undone) ", line) && !line.empty()) {
            const auto number = number_in(line, all.size());
            if (!number) {
                std::cout << fmt::format("There are 1 to {}; \"{}\" is none of them.\n", all.size(), shown_text(line));
                continue;
            }
            block = all[*number - 1].block;
            show();
            break;
        }
    }
    return std::move(blocks_);
}

}  // namespace

std::vector<Block> ask_for_plan(std::vector<Block> blocks, const ClubTonight& club) {
    return Planner(std::move(blocks), club).ask();
}

}  // namespace breakstep
