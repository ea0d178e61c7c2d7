// The blocks of the evening: what they take, what does not fit, what could be done.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

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
    Planner(Asker& asker, std::vector<Block> blocks, const ClubTonight& club)
        : asker_(asker), club_(club), blocks_(std::move(blocks)) {
        for (const Attending& each : club.attending()) people_.push_back(club.came(each));
        dose_ = [&club](const Person& person, const Block& block) { return club.dose(person, block); };
    }
    [[nodiscard]] std::vector<Block> ask();

  private:
    void show() const;
    [[nodiscard]] Forecast of(const Block& block) const { return forecast(people_, block, dose_); }
    [[nodiscard]] std::vector<Remedy> remedies(const Block& block) const;
    void make_fit(Block& block);
    void change_blocks();
    [[nodiscard]] bool change(const std::vector<std::string>& words);
    [[nodiscard]] desk::Questions::Seen buttons() const;
    [[nodiscard]] std::string title_of_drill(const Block& block) const;
    [[nodiscard]] std::int32_t most(const Block& block, std::int32_t DoseGiven::*what) const;

    Asker& asker_;
    const ClubTonight& club_;
    std::vector<Block> blocks_;
    std::vector<AthleteCame> people_;
    DoseOf dose_;
};

void Planner::show() const {
    asker_.say("");
    for (std::size_t i = 0; i < blocks_.size(); ++i) {
        const Block& block = blocks_[i];
        std::string line = fmt::format("{:>2} {:>5.1f} min  {:<34}", i + 1, minutes(block.length), block.title);
        if (block.kind == BlockKind::rounds) {
            const Forecast forecast = of(block);
            if (forecast.athletes == 0)
                line += "nobody";
            else
                line += fmt::format("{} athletes, {} sets, {:.1f} min{}", forecast.athletes, forecast.sets,
                                    minutes(forecast.needed),
                                    forecast.fits() ? "" : fmt::format(": only {} sets fit", forecast.sets_that_fit));
        }
        asker_.say(line);
    }
    asker_.say(fmt::format("   {:>5.1f} min  in all", minutes(total(blocks_))));
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

void Planner::make_fit(Block& block) {
    const std::vector<Remedy> all = remedies(block);
    asker_.say(fmt::format("\n\"{}\" is too short for everybody's sets:", block.title));
    desk::Questions::Seen shown;
    for (std::size_t i = 0; i < all.size(); ++i) {
        const Duration whole = total(blocks_) - block.length + all[i].block.length;
        const std::string costs =
            fmt::format("{:.1f} of {:.1f} min; the evening {:.1f} min", minutes(of(all[i].block).needed),
                        minutes(all[i].block.length), minutes(whole));
        asker_.say(fmt::format("  {}  {}: {}", i + 1, all[i].words, costs));
        shown.choices.push_back({std::to_string(i + 1), all[i].words, costs});
    }
    shown.title = fmt::format("\"{}\" is too short for everybody's sets. What then?", block.title);
    shown.go = "Leave it: what does not fit stays undone";
    std::string line;
    while (asker_.asked("Which? (number; nothing leaves what does not fit undone) ", line, shown) && !line.empty()) {
        const auto number = number_in(line, all.size());
        if (!number) {
            asker_.say(fmt::format("There are 1 to {}; \"{}\" is none of them.", all.size(), shown_text(line)));
            continue;
        }
        block = all[*number - 1].block;
        show();
        return;
    }
}

std::string Planner::title_of_drill(const Block& block) const {
    if (block.drill.empty()) return "each its own drill";
    const Drill* drill = club_.drill(block.drill);
    return drill == nullptr || drill->title.empty() ? block.drill : drill->title;
}

desk::Questions::Seen Planner::buttons() const {
    constexpr int minutes_offered[] = {2, 3, 5, 8, 10, 12, 15, 20, 25, 30, 40, 50, 60};
    desk::Questions::Seen seen;
    for (std::size_t i = 0; i < blocks_.size(); ++i) {
        const Block& block = blocks_[i];
        seen.choices.push_back({fmt::format("{} ", i + 1), block.title,
                                fmt::format("{:.3g} minutes", minutes(block.length)), false, false, "minutes"});
        if (block.kind == BlockKind::rounds)
            seen.choices.push_back({fmt::format("{} d", i + 1), fmt::format("Drill of {}", block.title),
                                    title_of_drill(block), false, false, "drills"});
    }
    for (const int each : minutes_offered)
        seen.picks["minutes"].push_back({std::to_string(each), fmt::format("{} minutes", each)});
    seen.picks["drills"] = drill_picks(club_.drills());
    seen.picks["drills"].insert(seen.picks["drills"].begin(), {"0", "each its own drill"});
    seen.title = "The plan";
    seen.go = "Go: the evening begins";
    seen.typed = true;
    return seen;
}

// "2 15": minutes; "2 d7": the seventh drill; "2 d0": each its own.
bool Planner::change(const std::vector<std::string>& words) {
    constexpr std::size_t minutes_most = 240;
    if (words.size() != 2) return false;
    const auto which = number_in(words[0], blocks_.size());
    if (!which) return false;
    Block& block = blocks_[*which - 1];
    if (words[1].front() != 'd') {
        const auto length = number_in(words[1], minutes_most);
        if (length) block.length = std::chrono::minutes(*length);
        return length.has_value();
    }
    const auto drill = number_in(words[1].substr(1), club_.drills().size());
    if (block.kind != BlockKind::rounds || (!drill && words[1] != "d0")) return false;
    block.drill = drill ? club_.drills()[*drill - 1].name : std::string();
    return true;
}

void Planner::change_blocks() {
    std::string line;
    while (asker_.asked(
        "Go? (nothing begins the evening; block and minutes, as 2 15; block and drill, as 2 d7, 2 d0 for each "
        "its own; ? lists the drills) ",
        line, buttons())) {
        const std::vector<std::string> words = words_in(line);
        if (words.empty()) return;
        if (words.front() == "?") {
            list_drills_of(asker_, club_.drills());
            continue;
        }
        if (!change(words)) {
            asker_.say(fmt::format("Blocks 1 to {}, minutes 1 to 240, drills of rounds d1 to d{}; \"{}\" is not that.",
                                   blocks_.size(), club_.drills().size(), shown_text(line)));
            continue;
        }
        Block& block = blocks_[*number_in(words[0], blocks_.size()) - 1];
        show();
        if (block.kind == BlockKind::rounds && !of(block).fits()) make_fit(block);
    }
}

std::vector<Block> Planner::ask() {
    show();
    for (Block& block : blocks_)
        if (block.kind == BlockKind::rounds && !of(block).fits()) make_fit(block);
    change_blocks();
    return std::move(blocks_);
}

}  // namespace

std::vector<Block> ask_for_plan(Asker& asker, std::vector<Block> blocks, const ClubTonight& club) {
    return Planner(asker, std::move(blocks), club).ask();
}

}  // namespace breakstep
