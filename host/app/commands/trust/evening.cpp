// `evening`: the rig is found and checked, then athletes and drills are chosen by name and number, turn after turn,
// without typing a port.
#include <fmt/format.h>

#include <algorithm>
#include <iostream>
#include <string>

#include "app/commands/session_setup.hpp"
#include "app/settings/drill_file.hpp"

namespace breakstep {
namespace {

constexpr std::int64_t stale_after_days = 60;
constexpr std::int64_t seconds_a_day = 86'400;

void say_how_old(const std::vector<Calibration>& calibrations, OnsetSource source) {
    const auto newest = std::find_if(calibrations.begin(), calibrations.end(),
                                     [source](const Calibration& each) { return each.source == source; });
    if (newest == calibrations.end()) {
        std::cout << fmt::format(
            "  {:<7}never calibrated: latencies of drills cued by {} alone will say \"not measured\"\n", word(source),
            word(source));
        return;
    }
    const std::int64_t days = (unix_now() - newest->measured_unix_seconds) / seconds_a_day;
    std::cout << fmt::format("  {:<7}calibrated {}{}\n", word(source),
                             days == 0   ? "today"
                             : days == 1 ? "yesterday"
                                         : fmt::format("{} days ago", days),
                             days > stale_after_days ? ": do it again (`rigs calibrate`)" : "");
}

void say_what_is_stale(const CommonOptions& options, const Settings& settings) {
    const auto store = open_store(options, settings, StoreMode::read_only);
    const auto calibrations = store ? (*store)->calibrations() : tl::make_unexpected(store.error());
    const std::vector<Calibration> known = calibrations.value_or(std::vector<Calibration>{});
    say_how_old(known, OnsetSource::sound);
    say_how_old(known, OnsetSource::screen);
    if (known.empty()) std::cout << "         (`rigs calibrate` takes five minutes; lamps need none)\n";
}

// Reads a line; false at the input's end.
bool asked(const std::string& question, std::string& answer) {
    std::cout << question << std::flush;
    return static_cast<bool>(std::getline(std::cin, answer));
}

std::optional<std::size_t> number_in(const std::string& text, std::size_t most) {
    std::size_t number = 0;
    if (text.empty() || text.size() > 3) return std::nullopt;
    for (const char digit : text) {
        if (digit < '0' || digit > '9') return std::nullopt;
        number = 10 * number + static_cast<std::size_t>(digit - '0');
    }
    return number >= 1 && number <= most ? std::optional(number) : std::nullopt;
}

void list(const std::vector<Drill>& drills) {
    for (std::size_t i = 0; i < drills.size(); ++i)
        std::cout << fmt::format("  {:>2}  {:<14}{}\n", i + 1, word(drills[i].level), drills[i].title);
}

/// Asks until a number fits; nothing typed: somebody else is at the rig after all.
std::optional<std::size_t> drill_asked_for(const std::vector<Drill>& drills) {
    std::string choice;
    while (asked("Which drill? (number; ? for the list, nothing to go back) ", choice) && !choice.empty()) {
        if (const auto number = number_in(choice, drills.size())) return number;
        if (choice == "?")
            list(drills);
        else
            std::cout << fmt::format("There are drills 1 to {}; \"{}\" is none of them.\n", drills.size(), choice);
    }
    return std::nullopt;
}

}  // namespace

int run_evening(const RigOptions& options) {
    const auto settings = load_settings(options.common.settings);
    if (!settings) return complain(settings.error());
    const auto listed = list_drills(*settings);
    if (!listed) return complain(listed.error());
    tell_unusable(*listed);
    const std::vector<Drill>* const drills = &listed->drills;
    begin_day(options.common, *settings);
    std::cout << settings->club << ". Looking for the rig.\n";
    if (const int code = check_rig(options); code != exit_done) return code;
    say_what_is_stale(options.common, *settings);

    std::cout << '\n';
    list(*drills);
    std::string athlete;
    while (asked("\nWho is at the rig? (call-sign; nothing to end the evening) ", athlete) && !athlete.empty()) {
        const auto number = drill_asked_for(*drills);
        if (!number) continue;
        DrillOptions drill;
        drill.common = options.common;
        drill.drill = (*drills)[*number - 1].name;
        drill.rig = options.port;
        drill.athlete = athlete;
        std::cout << "Strike a pad to start; walk off behind to cancel the count.\n";
        // A rig that failed is said by the drill; the evening goes on when it is mended.
        static_cast<void>(run_drill(drill));
    }
    std::cout << "\nGood night.\n";
    return exit_done;
}

}  // namespace breakstep
