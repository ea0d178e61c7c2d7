// `drills check FILE`: what is wrong with a drill file, the minutes that it takes, and for whom it is too much.
#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include <algorithm>
#include <chrono>
#include <cmath>
#include <iostream>

#include "cli/commands.hpp"
#include "core/error.hpp"
#include "core/evening/dose.hpp"
#include "core/trade/junior.hpp"
#include "settings/drill_file.hpp"

namespace breakstep {
namespace {

// The count, and the strike before it.
constexpr Duration before_set = 2600ms;

double minutes(Duration length) {
    return static_cast<double>(std::chrono::duration_cast<std::chrono::milliseconds>(length).count()) / 60'000;
}

Duration alone(const Drill& drill) {
    return drill.sets * (before_set + set_length(drill)) + (drill.sets - 1) * drill.rest;
}

// As one of a pool, rests are others' sets: what it takes of the rig.
Duration at_the_rig(const Drill& drill) { return drill.sets * (before_set + set_length(drill)); }

/// For children of this age: what is too much of the drill, or not for them at all. "" for nothing.
std::string too_much(const Drill& drill, std::int32_t age) {
    std::string said = too_much_for_a_junior(drill, age);
    const auto add = [&said](const std::string& part) { said += (said.empty() ? "" : ", ") + part; };
    const evening::Dose asked{drill.reps, drill.sets}, dose = evening::dose_for(age, asked);
    if (dose != asked) add(fmt::format("an evening gives {} x {}", dose.sets, dose.reps));
    if (const std::string never = never_at_age(drill, age); !never.empty()) add(never);
    return said;
}

struct AgeGroup {
    const char* name;
    std::int32_t oldest;
};
constexpr AgeGroup groups[] = {{"8 to 10", 10}, {"11 to 13", 13}, {"14", 14}};

}  // namespace

std::string words_of_check(const Drill& drill) {
    std::string words = fmt::format(
        "{}: {}\n  nothing is wrong with the file\n  {} {} of {}: about {:.1f} minutes alone, {:.1f} of them at the "
        "rig; in an evening the rests are others' sets\n",
        drill.name, shown_text(drill.title), drill.sets, drill.sets == 1 ? "set" : "sets", drill.reps,
        minutes(alone(drill)), minutes(at_the_rig(drill)));
    if (needs_a_screen(drill) && drill.telegraph.shown <= 0)
        words +=
            "  its lift comes without warning: nobody meets that by reaction; add a table [telegraph], a pattern, or "
            "start = \"drawn\"\n";
    for (const AgeGroup& group : groups)
        if (const std::string said = too_much(drill, group.oldest); !said.empty())
            words += fmt::format("  too much for {}: {}\n", group.name, said);
    return words;
}

int check_drill(const CommonOptions& options, const std::string& file) {
    const auto settings = load_settings(options.settings);
    if (!settings) return complain(settings.error());
    const auto drill = load_drill(file, *settings);
    if (!drill) return complain(drill.error());
    if (options.json) {
        nlohmann::ordered_json json;
        json["drill"] = drill->name;
        json["sets"] = drill->sets;
        json["reps"] = drill->reps;
        json["minutes_alone"] = std::round(10 * minutes(alone(*drill))) / 10;
        json["minutes_at_the_rig"] = std::round(10 * minutes(at_the_rig(*drill))) / 10;
        json["too_much"] = nlohmann::ordered_json::object();
        for (const AgeGroup& group : groups) json["too_much"][group.name] = too_much(*drill, group.oldest);
        std::cout << json.dump() << '\n';
        return exit_done;
    }
    std::cout << words_of_check(*drill);
    return exit_done;
}

}  // namespace breakstep
