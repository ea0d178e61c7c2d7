// Kept apart: the command line library is slow to compile, so it is included by one file a family of commands.
#include "cli/command_line.hpp"

#include <CLI/CLI.hpp>

#include <algorithm>
#include <cerrno>
#include <functional>
#include <iostream>
#include <optional>
#include <sstream>
#include <string>
#include <vector>

#include "cli/athletes/keeping_options.hpp"
#include "cli/clubs/clubs.hpp"
#include "cli/commands.hpp"
#include "cli/desk/desk.hpp"
#include "cli/lists/lists.hpp"
#include "cli/progress/progress.hpp"
#include "cli/report/report.hpp"
#include "cli/shared_options.hpp"
#include "cli/timeable/number_within.hpp"
#include "cli/timeable/timeable.hpp"
#include "core/error.hpp"
#include "files/place.hpp"
#include "places.hpp"
#include "settings/table_reader.hpp"
#include "tools/demo_evening.hpp"
#include "tools/demo_ladder.hpp"
#include "tools/demo_partner.hpp"

namespace breakstep {
namespace {

constexpr const char* footer =
    "Exit codes: 0 done; 1 something failed; 2 what was typed or a file can't be used; 3 no usable rig;\n"
    "4 the store can't be written. Results go to stdout, everything else to stderr.\n"
    "Local rules and licensed coaches come first; a knock to the head ends the session.";

constexpr double a_day = 86'400;

struct Parsed {
    CommonOptions common;
    DrillOptions drill;
    OpponentOptions opponent;
    PairsCommand pairs;
    RigOptions rig;
    EveningOptions night;
    SimulateRigArguments simulated;
    KeepingOptions keeping;
    std::string session, capture, directory;
    StageSize size;
    bool term = false, whole_evening = false;
    EveningDemo evening;
    bool with_partner = false;
    PartnerDemo partner;
    bool on_ladder = false, told_apart = false;
    LadderDemo ladder;
    int weeks = 10;
    std::function<int()> run;
};

void add_seed(CLI::App& app, Parsed& parsed, const char* text) {
    app.add_option_function<std::uint64_t>(
           "--seed",
           [&parsed](std::uint64_t seed) {
               parsed.common.seed = seed;
               parsed.common.has_seed = true;
           },
           text)
        ->check(whole_number());
}

void add_run(CLI::App& app, Parsed& parsed) {
    add_seed(app, parsed, "the same seed plans the same drill (and, with --fast, gives the same results)");
    app.add_flag("--headless", parsed.common.headless, "open no window and no sound device");
    app.add_flag("--fast", parsed.common.fast, "simulated rig only: as fast as this machine can, not in real time");
    add_json(app, parsed.common);
    add_store(app, parsed.common);
    app.add_option("--capture", parsed.common.capture, "write every call to the engine to this file, for `replay`");
}

void add_pairs(CLI::App& app, Parsed& parsed) {
    PairsCommand& given = parsed.pairs;
    auto* pairs = app.add_subcommand("pairs", "a class without a rig: what each pair's attacker does, on the screen");
    pairs->add_option("drill", given.drill, "a drill's name (see `drills`) or a file")->required();
    pairs->add_option("--pairs", given.options.pairs, "so many, by where they stand")->check(CLI::Range(1, 10));
    pairs->add_option("--athletes", given.athletes, "call-signs, two for each pair: shown at change over only")
        ->delimiter(',');
    pairs->add_option("--rounds", given.options.rounds, "who attacks changes after each")->check(CLI::Range(1, 20));
    pairs->add_option("--cues", given.options.cues, "of a round")->check(CLI::Range(1, 60));
    const auto in_seconds = [&](const char* name, Duration& target, double low, double high, const char* text) {
        pairs
            ->add_option_function<double>(
                name, [&target](double value) { target = Duration(static_cast<std::int64_t>(value * 1e9)); }, text)
            ->check(number_within(low, high));
    };
    in_seconds("--window", given.options.window, 1, 6, "seconds of a cue: any moment in it is right to attack");
    in_seconds("--pause", given.options.pause, 1, 30, "seconds after a cue, at least");
    in_seconds("--change-over", given.options.change_over, 5, 120, "seconds before a round");
    pairs
        ->add_option_function<std::uint64_t>(
            "--seed",
            [&parsed](std::uint64_t seed) {
                parsed.common.seed = seed;
                parsed.common.has_seed = true;
            },
            "the same seed gives the same attacks")
        ->check(whole_number());
    pairs->add_flag("--headless", parsed.common.headless, "no window: the plan at once, to be called out");
    add_json(*pairs, parsed.common);
    pairs->add_option("--settings", parsed.common.settings, "a settings file read after the usual ones");
    pairs->callback([&parsed] {
        parsed.run = [&parsed] {
            parsed.pairs.common = parsed.common;
            return run_pairs(parsed.pairs);
        };
    });
}

void add_drilling(CLI::App& app, Parsed& parsed) {
    auto* demo = app.add_subcommand("demo", "a short evening on a simulated rig, then its results");
    add_run(*demo, parsed);
    auto* term = demo->add_flag("--term", parsed.term,
                                "ten invented weeks instead, in a new file (--store), for progress and report");
    demo->add_option("--weeks", parsed.weeks, "of the term, only the first so many")
        ->check(CLI::Range(1, 10))
        ->needs(term);
    auto* whole = demo->add_flag("--evening", parsed.whole_evening,
                                 "a whole evening of sixteen invented athletes instead, held against what they did")
                      ->excludes(term);
    demo->add_option("--minutes", parsed.evening.minutes, "of the evening (the plan is of 90 and is scaled)")
        ->check(number_within(1, 240))
        ->needs(whole);
    demo->add_option("--cuts", parsed.evening.cuts, "so often the program is cut off in the evening, and goes on")
        ->check(CLI::Range(0, 1000))
        ->needs(whole);
    auto* pairs = demo->add_flag("--partner", parsed.with_partner,
                                 "pairs of an athlete and a partner's real leg instead, held against what the leg did")
                      ->excludes(term)
                      ->excludes(whole);
    demo->add_option("--contacts", parsed.partner.contacts, "of the pairs: so many contacts at least")
        ->check(CLI::Range(1, 100'000))
        ->needs(pairs);
    demo->add_option(
            "--bouts", parsed.partner.bouts,
            "of the pairs: who makes whom go instead, so many bouts of each kind, held against the published tables")
        ->check(CLI::Range(1, 100'000))
        ->needs(pairs);
    auto* ladder = demo->add_flag("--ladder", parsed.on_ladder,
                                  "a hundred invented athletes climb a rung instead: who passes, and who by luck")
                       ->excludes(term)
                       ->excludes(whole)
                       ->excludes(pairs);
    demo->add_option("--athletes", parsed.ladder.athletes, "on the ladder")
        ->check(number_within(2, 100'000))
        ->needs(ladder);
    demo->add_option("--evenings", parsed.ladder.evenings, "on the ladder")
        ->check(number_within(1, 1000))
        ->needs(ladder);
    auto* apart = demo->add_flag("--told-apart", parsed.told_apart,
                                 "athletes who differ in one thing each, before the drills that tell it, instead")
                      ->excludes(term)
                      ->excludes(whole)
                      ->excludes(pairs)
                      ->excludes(ladder);
    demo->add_option("--sessions", parsed.ladder.sessions, "of each athlete in each drill, to tell them apart by")
        ->check(number_within(1, 100'000))
        ->needs(apart);
    demo->callback([&parsed] {
        parsed.run = [&parsed] {
            if (parsed.on_ladder) return run_demo_ladder(parsed.common, parsed.ladder);
            if (parsed.told_apart) return run_told_apart(parsed.common, parsed.ladder);
            if (parsed.with_partner) return run_demo_partner(parsed.common, parsed.partner);
            if (parsed.whole_evening) return run_demo_evening(parsed.common, parsed.evening);
            return parsed.term ? run_demo_term(parsed.common, parsed.weeks) : run_demo(parsed.common);
        };
    });

    auto* drill = app.add_subcommand("drill", "run a drill with one athlete");
    drill->add_option("drill", parsed.drill.drill, "a drill's name (see `drills`) or a file")->required();
    drill->add_option("--rig", parsed.drill.rig, "a port, or `simulated`; without it the rig is looked for");
    drill->add_option("--athlete", parsed.drill.athlete, "the athlete's call-sign");
    drill->add_option("--partner", parsed.drill.partner, "the call-sign of whoever kicks, in a drill with a partner");
    add_run(*drill, parsed);
    drill->callback([&parsed] {
        parsed.run = [&parsed] {
            parsed.drill.common = parsed.common;
            return run_drill(parsed.drill);
        };
    });

    auto* drills = app.add_subcommand("drills", "list the drills");
    add_json(*drills, parsed.common);
    drills->add_option("--settings", parsed.common.settings, "a settings file read after the usual ones");
    auto* check =
        drills->add_subcommand("check", "a drill's file: what is wrong, its minutes, for whom it is too much");
    check->add_option("drill", parsed.drill.drill, "a file, or a drill's name")->required();
    add_json(*check, parsed.common);
    drills->callback([&parsed, drills] {
        const bool checks = !drills->get_subcommands().empty();
        parsed.run = [&parsed, checks] {
            return checks ? check_drill(parsed.common, parsed.drill.drill) : list_drills(parsed.common);
        };
    });
}

void add_opponents(CLI::App& app, Parsed& parsed) {
    auto* opponents = app.add_subcommand("opponents", "the opponents that a drill can name; a copy of a partner");
    opponents->require_subcommand(1);
    const auto add = [&](const char* name, const char* text, int (*command)(const OpponentOptions&)) {
        auto* sub = opponents->add_subcommand(name, text);
        add_json(*sub, parsed.common);
        sub->callback([&parsed, command] {
            parsed.run = [&parsed, command] {
                parsed.opponent.common = parsed.common;
                return command(parsed.opponent);
            };
        });
        return sub;
    };
    auto* list = add("list", "what each does, and for whom it is", list_opponents_there_are);
    add_store(*list, parsed.common);
    auto* copy = add("copy", "an opponent who kicks as a partner did, from their kept partner drills", copy_partner);
    copy->add_option("call-sign", parsed.opponent.call_sign, "the partner, who has said yes")->required();
    copy->add_option("--name", parsed.opponent.name, "of the opponent: lower case, digits, hyphens")
        ->check([](const std::string& name) {
            const bool plain =
                !name.empty() && name.find_first_not_of("abcdefghijklmnopqrstuvwxyz0123456789-") == std::string::npos;
            return plain ? std::string() : std::string("is no name of lower case letters, digits and hyphens");
        });
    copy->add_flag("--overwrite", parsed.opponent.overwrite, "takes the place of any opponent of that name");
    copy->add_flag("--simulated", parsed.opponent.simulated, "the partner is an invented one: nobody is to be asked");
    add_store(*copy, parsed.common);
}

void add_rigs(CLI::App& app, Parsed& parsed) {
    auto* rigs = app.add_subcommand("rigs", "find, check and watch rigs");
    rigs->require_subcommand(1);
    const auto add = [&](const char* name, const char* text, int (*command)(const RigOptions&), bool port) {
        auto* sub = rigs->add_subcommand(name, text);
        if (port) sub->add_option("--rig", parsed.rig.port, "the port; without it the rig is looked for");
        if (command == calibrate_rig) {
            add_store(*sub, parsed.common);
            sub->add_flag("--headless", parsed.common.headless, "without the loudspeaker");
        }
        if (command == watch_rig)
            sub->add_option("--seconds", parsed.rig.seconds, "stop after so long")->check(number_within(0, a_day));
        add_json(*sub, parsed.common);
        sub->callback([&parsed, command] {
            parsed.run = [&parsed, command] {
                parsed.rig.common = parsed.common;
                return command(parsed.rig);
            };
        });
    };
    add("list", "the ports a rig may be on", list_rigs, false);
    add("check", "link, clock, channels and counters of a rig", check_rig, true);
    add("watch", "every strike and step as it happens", watch_rig, true);
    add("calibrate", "thresholds, gates and the loudspeaker's delay, by questions", calibrate_rig, true);

    auto* night = app.add_subcommand("evening", "find and check the rig, who is here, then turn after turn at one rig");
    night->add_option("--rig", parsed.night.rig.port, "the port, or `simulated`; without it the rig is looked for");
    night->add_option("--group", parsed.night.group, "this group is ticked beforehand, and the others are not listed");
    night->add_option("--plan", parsed.night.plan, "a plan's file (config/evening.toml explains one)");
    night->add_option("--minutes", parsed.night.minutes, "the whole plan in so many minutes")
        ->check(number_within(1, 240));
    add_seed(*night, parsed, "the same seed plans the same sets");
    night->add_flag("--headless", parsed.common.headless, "open no window and no sound device");
    night->add_option("--capture", parsed.common.capture, "write every call to the engine to this file, for `replay`");
    add_store(*night, parsed.common);
    night->add_flag("--desk", parsed.night.desk.open, "open the coach's pages for a browser beside it");
    add_desk_options(*night, parsed.night.desk);
    night->callback([&parsed] {
        parsed.run = [&parsed] {
            parsed.night.rig.common = parsed.common;
            return run_evening(parsed.night);
        };
    });

    auto* simulated = app.add_subcommand("simulate-rig", "a rig with a simulated athlete on a pseudo-terminal");
    SimulateRigArguments& given = parsed.simulated;
    simulated->add_option("--athlete", given.athlete, "call-sign of a simulated athlete");
    simulated->add_option("--seed", given.seed, "the same seed behaves alike")->check(whole_number());
    simulated->add_option("--drift", given.drift_ppm, "how far its clock is off, in millionths")
        ->check(number_within(-300, 300));
    simulated->add_option("--damage", given.damage, "share of frames damaged, both ways")->check(number_within(0, 1));
    simulated
        ->add_option("--reset-after", given.reset_after_seconds,
                     "reset the board after so many seconds, again and again")
        ->check(number_within(0, a_day));
    simulated->add_option("--minutes", given.minutes, "stop after so long")->check(number_within(0, a_day));
    simulated->callback([&parsed] { parsed.run = [&parsed] { return simulate_rig(parsed.simulated); }; });
}

void add_records(CLI::App& app, Parsed& parsed) {
    auto* again = app.add_subcommand("rescore", "score a kept session again from its journal, and compare");
    again->add_option("session", parsed.session, "its number, its id, or `last`")->required();
    add_json(*again, parsed.common);
    add_store(*again, parsed.common);
    again->callback([&parsed] { parsed.run = [&parsed] { return rescore(parsed.common, parsed.session); }; });

    auto* played = app.add_subcommand("replay", "play a capture through the engine again, and compare with the store");
    played->add_option("capture", parsed.capture, "a file that --capture wrote")->required();
    add_json(*played, parsed.common);
    add_store(*played, parsed.common);
    played->callback([&parsed] { parsed.run = [&parsed] { return replay(parsed.common, parsed.capture); }; });

    auto* pictures = app.add_subcommand("pictures", "draw the README's pictures from simulated athletes");
    pictures->add_option("directory", parsed.directory, "where to put them")->required();
    pictures->add_option("--width", parsed.size.width, "of the stage, pixels")->check(CLI::Range(320, 7680));
    pictures->add_option("--height", parsed.size.height, "of the stage, pixels")->check(CLI::Range(240, 4320));
    pictures->callback([&parsed] { parsed.run = [&parsed] { return make_pictures(parsed.directory, parsed.size); }; });
}

}  // namespace

namespace {

// Full, or gone: what was printed is not all there, and a script must see that.
int with_output_written(int code) {
    errno = 0;
    if (std::cout.flush()) return code;
    const Error error = files::system_error("standard output", "written", errno != 0 ? errno : EIO);
    const int told = complain(error, exit_failed);
    return code == exit_done ? told : code;
}

int parse_and_run(int argument_count, char** arguments);

}  // namespace

int run_command_line(int argument_count, char** arguments) {
    return with_output_written(parse_and_run(argument_count, arguments));
}

namespace {

/// That there is no such command, if there isn't, and which was meant: the library only says that one is missing.
std::optional<Error> unknown_command(const CLI::App& app, const std::string& typed) {
    std::vector<std::string> names;
    for (const CLI::App* command : app.get_subcommands({})) names.push_back(command->get_name());
    if (std::find(names.begin(), names.end(), typed) != names.end()) return std::nullopt;
    const auto meant = nearest_word(names, typed);
    return Error{ErrorKind::bad_input, "there is no command \"" + typed + "\"",
                 (meant ? "did you mean " + *meant + "? " : "") + "`breakstep --help` lists them"};
}

int parse_and_run(int argument_count, char** arguments) {
    // `timeable` and `tap` read their own arguments: they are the same programs a stranger would use to check us.
    if (argument_count >= 2) {
        const std::string first = arguments[1];
        const std::vector<std::string> rest(arguments + 2, arguments + argument_count);
        if (first == "timeable") return run_timeable(rest, std::cin, std::cout, std::cerr);
        if (first == "tap") return run_tap(rest, std::cout, std::cerr);
    }
    CLI::App app(
        "breakstep teaches athletes of kicking sparring to counter-attack, and tells them when their own rhythm\n"
        "could be timed.",
        "breakstep");
    app.footer(footer);
    app.require_subcommand(1);
    app.set_version_flag("--version", "breakstep " BREAKSTEP_VERSION);
    Parsed parsed;
    add_drilling(app, parsed);
    add_pairs(app, parsed);
    add_opponents(app, parsed);
    add_rigs(app, parsed);
    add_records(app, parsed);
    add_progress(app, parsed.run);
    add_reports(app, parsed.run);
    add_keeping_commands(app, parsed.keeping, parsed.run);
    add_lists(app, parsed.run);
    add_clubs(app, parsed.run);
    add_desk(app, parsed.run);
    app.add_subcommand("timeable", "can a rhythm be timed? Reads a list of times, intervals or choices");
    app.add_subcommand("tap", "tap the space bar along with a video to make such a list");
    if (argument_count >= 2 && arguments[1][0] != '\0' && arguments[1][0] != '-')
        if (const auto unknown = unknown_command(app, arguments[1])) return complain(*unknown);
    try {
        app.parse(argument_count, arguments);
    } catch (const CLI::ParseError& problem) {
        std::ostringstream said;
        const int code = app.exit(problem, std::cout, said);
        // It repeats what was typed.
        std::istringstream lines(said.str());
        for (std::string line; std::getline(lines, line);) std::cerr << shown_text(line) << '\n';
        return code == 0 ? exit_done : exit_bad_input;
    }
    return parsed.run ? parsed.run() : exit_bad_input;
}

}  // namespace

}  // namespace breakstep
