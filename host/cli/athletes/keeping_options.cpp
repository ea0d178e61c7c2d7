// Kept apart: includes the command line library.
#include "cli/athletes/keeping_options.hpp"

#include <CLI/CLI.hpp>

#include "cli/shared_options.hpp"

namespace breakstep {
namespace {

using KeepingCommand = int (*)(const KeepingOptions&);

/// Where commands are added, and where what is typed goes.
struct Typed {
    KeepingOptions& given;
    std::function<int()>& run;

    CLI::App* add(CLI::App& above, const char* name, const char* text, KeepingCommand command) const {
        auto* sub = above.add_subcommand(name, text);
        add_store(*sub, given.common);
        sub->callback(
            [&to_run = run, &options = given, command] { to_run = [&options, command] { return command(options); }; });
        return sub;
    }
};

void add_typed_athlete(CLI::App& app, TypedAthlete& typed) {
    const auto add = [&app](const char* name, std::optional<std::string>& to, const char* text) {
        app.add_option_function<std::string>(
            name, [&to](const std::string& given) { to = given; }, text);
    };
    add("--real-name", typed.real_name, "never needed; \"\" takes it, or any of these, away");
    add("--grade", typed.grade, "belt or grade");
    add("--lead", typed.lead, "the forward side: left or right");
    add("--height-band", typed.height_band, "such as \"150-160 cm\"");
    add("--birth-year", typed.birth_year, "decides doses, a child's words and page, and who answers about consent");
    add("--group", typed.group, "such as \"Thursday\"");
    add("--rung", typed.rung,
        "puts the athlete on this rung of the ladder by hand, 1 to 9: none below it comes next; \"\" takes it back");
    add("--notes", typed.notes, "anything worth knowing");
    add("--consent-on", typed.consent_on, "the day consent to keep these data was given: 2024-09-30");
    add("--consent-by", typed.consent_by, "by whom: the athlete; under 16 a guardian, never the athlete");
    add("--consent-until", typed.consent_until, "its last day; without one it does not run out");
    add("--consent-share-on", typed.consent_share_on,
        "the day a yes to sharing results with a server was given: asked for by itself");
    app.add_flag("--no-consent", typed.no_consent,
                 "consent was refused, or is withdrawn: from now on results are for one evening only");
}

void add_with_names(CLI::App& app, bool& with_names) {
    app.add_flag("--with-names", with_names, "real names and notes too: without this they stay in the store");
}

void add_athletes(CLI::App& app, const Typed& typed) {
    KeepingOptions& given = typed.given;
    auto* athletes = app.add_subcommand("athletes", "the athletes: list, add, change, erase, lists in and out");
    athletes->require_subcommand(1);
    const auto add = [&](const char* name, const char* text, KeepingCommand command, bool one_athlete) {
        auto* sub = typed.add(*athletes, name, text, command);
        add_json(*sub, given.common);
        if (one_athlete) sub->add_option("call-sign", given.call_sign, "the athlete's call-sign")->required();
        return sub;
    };
    add_with_names(*add("list", "every athlete, with consent", list_athletes, false), given.with_names);
    add_typed_athlete(*add("add", "a new athlete", add_athlete, true), given.typed);
    auto* change = add("change", "change what is known of an athlete", change_athlete, true);
    change->add_option_function<std::string>(
        "--call-sign", [&given](const std::string& name) { given.typed.call_sign = name; }, "a new call-sign");
    add_typed_athlete(*change, given.typed);
    add("erase", "everything of an athlete, for good", erase_athlete, true)
        ->add_flag("--yes", given.yes, "it is meant: without this, it is only said what would be erased");
    auto* join = add("join", "two athletes are one: the first stays, with all that both did", join_athletes, true);
    join->add_option("other", given.other, "the call-sign, or the id, of the one that goes")->required();
    join->add_flag("--yes", given.yes, "it is meant: without this, it is only said what would be joined");
    add("import-list", "add the athletes of a CSV list: all of them or none", import_athletes, false)
        ->add_option("file", given.file, "the list, its first line as `export-list` writes it; - for stdin")
        ->required();
    auto* exported = add("export-list", "the athletes as CSV", export_athletes, false);
    exported->add_option("file", given.file, "a new file; without it, stdout");
    exported->add_flag("--overwrite", given.overwrite, "the file may take an older one's place");
    add_with_names(*exported, given.with_names);
}

void add_copies(CLI::App& app, const Typed& typed) {
    KeepingOptions& given = typed.given;
    auto* in = typed.add(app, "import", "past results from CSV: athlete,date,measure,value", import_measures);
    in->add_option("file", given.file, "the CSV file; - for stdin")->required();
    add_json(*in, given.common);
    auto* out = typed.add(app, "export", "reps, sessions or imported values as CSV, all as JSON", export_results);
    out->add_option("file", given.file, "a new file; - for stdout");
    out->add_option("--table", given.table, "CSV: which table")->check(CLI::IsMember({"reps", "sessions", "measures"}));
    out->add_flag("--dictionary", given.dictionary, "what each column means, instead of data");
    out->add_flag("--overwrite", given.overwrite, "the file may take an older one's place");
    auto* subtitles = out->add_flag("--subtitles", given.subtitles,
                                    "every rep's time from the opening flash, for a video of the hall: FILE.srt or "
                                    "FILE.vtt, any other name is a list");
    out->add_option("--of", given.of,
                    "of which session (number, id, `last`) or day (2026-11-26); without it the last "
                    "evening")
        ->needs(subtitles);
    add_with_names(*out, given.with_names);
    add_json(*out, given.common);
    typed.add(app, "backup", "a copy of the whole store", back_up)
        ->add_option("file", given.file, "a new file")
        ->required();
    auto* restored =
        typed.add(app, "restore", "check a backup and put it in the store's place; the old store is kept", restore);
    restored->add_option("file", given.file, "the backup")->required();
    restored->add_flag("--even-damaged", given.even_damaged, "the store whose place it takes may be damaged");
    add_json(*restored, given.common);
    add_json(*typed.add(app, "check", "whether everything in the store is as it was written", check_store),
             given.common);
    auto* rescued = typed.add(app, "rescue", "save what is whole in a damaged store into a new one", rescue);
    rescued->add_option("file", given.file, "a new file; the damaged store (--store) is left as it is")->required();
    add_json(*rescued, given.common);
}

}  // namespace

void add_keeping_commands(CLI::App& app, KeepingOptions& given, std::function<int()>& run) {
    const Typed typed{given, run};
    add_athletes(app, typed);
    add_copies(app, typed);
}

}  // namespace breakstep
