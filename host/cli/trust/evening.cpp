// `evening`: the rig is found and checked, then athletes and drills are chosen by name and number, turn after turn,
// without typing a port.
#include <fmt/format.h>

#include <algorithm>
#include <iostream>
#include <string>

#include "cli/athletes/shared.hpp"
#include "cli/consent/tonight_store.hpp"
#include "cli/session_setup.hpp"
#include "club/athletes/naming.hpp"
#include "club/consent/consent_words.hpp"
#include "club/csv/csv.hpp"
#include "core/error.hpp"
#include "settings/drill_file.hpp"
#include "store/text_rules.hpp"

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

enum class Answer { yes, no, later };

/// Asks until it is one of the three. Nothing typed is later.
Answer may_be_kept(const Athlete& athlete) {
    std::string answer;
    while (asked(fmt::format("May {}'s results be kept? (yes, no, later) ", shown_text(shown(athlete))), answer)) {
        const std::string typed = folded(trimmed(answer));
        if (typed == "yes" || typed == "y") return Answer::yes;
        if (typed == "no" || typed == "n") return Answer::no;
        if (typed.empty() || typed == "later" || typed == "l") return Answer::later;
        std::cout << fmt::format("Answer yes, no or later; \"{}\" is none of them.\n", shown_text(answer));
    }
    return Answer::later;
}

Expected<void> take_answer(Store& store, Athlete athlete, Answer answer) {
    const std::string today = today_here();
    if (answer == Answer::yes)
        athlete.consent = Consent{today, "the athlete", ""};
    else
        athlete.consent_refused_on = today;
    if (const auto changed = store.change_athlete(athlete); !changed) return changed;
    if (answer == Answer::yes)
        std::cout << fmt::format("  Kept from now on, by {}'s own yes of today.\n", shown_text(shown(athlete)));
    else
        std::cout << fmt::format(
            "  From now on for one evening only. What was kept before stays until `breakstep athletes erase {}`.\n",
            shell_word(shown(athlete)));
    return {};
}

/// Everyone who was never asked, until it is answered. Of juniors a guardian decides, who is seldom in the hall.
void ask_for_consent(const CommonOptions& options, const Settings& settings) {
    std::error_code problem;
    if (!std::filesystem::exists(store_path(options, settings), problem)) return;
    const auto store = open_store(options, settings, StoreMode::inline_writes);
    const auto athletes = store ? (*store)->athletes() : tl::make_unexpected(store.error());
    if (!athletes) {
        std::cerr << "breakstep: " << athletes.error().text() << '\n';
        return;
    }
    const std::string today = today_here();
    for (const Athlete& athlete : *athletes) {
        if (athlete.call_sign.empty() || consent_state(athlete, today) != ConsentState::not_asked) continue;
        if (guardian_answers(athlete, today)) {
            std::cout << fmt::format("For this evening only: {}; {}\n", shown_text(why_not_kept(athlete, today)),
                                     shown_text(how_to_renew(athlete, today)));
            continue;
        }
        const Answer answer = may_be_kept(athlete);
        if (answer == Answer::later) continue;
        if (const auto taken = take_answer(**store, athlete, answer); !taken)
            std::cerr << "breakstep: " << taken.error().text() << '\n';
    }
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
    ask_for_consent(options.common, *settings);
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
    std::cout << '\n';
    end_tonight(store_path(options.common, *settings));
    std::cout << "Good night.\n";
    return exit_done;
}

}  // namespace breakstep
