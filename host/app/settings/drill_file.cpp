#include "app/settings/drill_file.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <fstream>
#include <iterator>

#include "app/settings/opponent_keys.hpp"
#include "app/settings/table_reader.hpp"

namespace breakstep {
namespace {

/// The words of an enumeration up to its last, in order, for TableReader::one_of.
template <class Enum>
std::vector<std::string_view> words_up_to(Enum last) {
    std::vector<std::string_view> words;
    for (int i = 0; i <= static_cast<int>(last); ++i) words.push_back(word(static_cast<Enum>(i)));
    return words;
}

void read_attack(TableReader& table, AttackChoice& attack) {
    table.one_of("kind", words_up_to(AttackKind::feint), attack.kind);
    table.integer("rebounds", 1, 4, attack.rebounds);
    table.integer("share", 1, 20, attack.share);
    table.one_of("moment", words_up_to(Moment::drop), attack.moment);
    table.one_of("counter", words_up_to(Counter::spin), attack.counter);
    std::vector<std::size_t> pads;
    table.words("pads", words_up_to(PadRole::low_right), pads);
    attack.pads = 0;
    for (const std::size_t pad : pads)
        attack.pads = static_cast<PadSet>(attack.pads | pad_bit(static_cast<PadRole>(pad)));
    if (!table.has("kind")) table.refuse("kind", "is missing", "say what attack it is: kind = \"single\"");
    if (attack.kind == AttackKind::feint && table.has("moment"))
        table.refuse("moment", "makes no sense for a feint", "take it out: a feint is to be held back from");
    if (attack.kind != AttackKind::rebound && table.has("rebounds"))
        table.refuse("rebounds", "belongs to kind = \"rebound\"", "take it out, or make the kind a rebound");
}

void read_attacks(TableReader& top, const std::string& file, Drill& drill) {
    for (const TomlNode* each : top.tables("attack")) {
        AttackChoice attack;
        TableReader table(*each, file, "attack.");
        read_attack(table, attack);
        top.take_error(table.finish());
        drill.attacks.push_back(attack);
    }
    if (drill.attacks.empty())
        top.refuse("attack", "is missing: a drill needs at least one", "add a table [[attack]] with kind and moment");
    const bool only_feints =
        !drill.attacks.empty() && std::all_of(drill.attacks.begin(), drill.attacks.end(),
                                              [](const AttackChoice& a) { return a.kind == AttackKind::feint; });
    if (only_feints) top.refuse("attack", "has feints only", "add an attack that is to be answered");
}

void read_pattern(TableReader& top, const std::string& file, Drill& drill) {
    for (const TomlNode* each : top.tables("step")) {
        std::int32_t attack = 1;
        PatternStep step;
        step.wait = 1500ms;
        TableReader table(*each, file, "step.");
        table.integer("attack", 1, static_cast<std::int64_t>(std::max<std::size_t>(1, drill.attacks.size())), attack);
        table.duration("wait_s", 1s, 10s, step.wait);
        top.take_error(table.finish());
        step.attack = attack - 1;
        drill.pattern.push_back(step);
    }
    const bool by_pattern = drill.start == StartKind::pattern;
    if (by_pattern && drill.pattern.empty())
        top.refuse("start", "is \"pattern\", but there are no steps", "add tables [[step]] with attack and wait_s");
    if (!by_pattern && !drill.pattern.empty())
        top.refuse("step", "is only used by start = \"pattern\"", "take the steps out, or change start");
}

void read_timing(TableReader& top, Drill& drill) {
    top.integer("sets", 1, 20, drill.sets);
    top.integer("reps", 1, 60, drill.reps);
    top.duration("rest_s", 1s, 600s, drill.rest);
    top.duration("wait_minimum_s", 1s, 10s, drill.wait_minimum);
    top.duration("wait_extra_s", Duration{}, 10s, drill.wait_extra);
    top.duration("wait_cap_s", 1s, 30s, drill.wait_cap);
    top.duration("lead_ms", Duration{}, 300ms, drill.lead);
    top.real("withheld", 0, 0.9, drill.withheld);
    if (drill.wait_cap <= drill.wait_minimum)
        top.refuse("wait_cap_s", "is not above wait_minimum_s", "make it larger: every longer wait is a catch trial");
}

Expected<Drill> drill_from(const TomlNode& root, const std::string& file, const std::string& name,
                           const Settings& settings) {
    Drill drill;
    drill.name = name;
    TableReader top(root, file);
    top.text("title", drill.title);
    top.one_of("level", words_up_to(Level::advanced), drill.level);
    drill.opponent = settings.opponent(drill.level);
    top.boolean("test", drill.test);
    top.one_of("start", words_up_to(StartKind::tapped), drill.start);
    top.one_of("stance", words_up_to(Stance::open), drill.stance);
    static constexpr std::string_view sides[] = {"left", "right", "both"};
    top.one_of("lead_sides", sides, drill.lead_sides);
    read_timing(top, drill);
    top.boolean("lamps", drill.lamps);
    top.boolean("sound", drill.sound);
    top.boolean("screen", drill.screen);
    if (!drill.lamps && !drill.sound && !drill.screen)
        top.refuse("lamps", "is false, and so are sound and screen: nothing would cue the athlete",
                   "turn one of them on");
    read_attacks(top, file, drill);
    read_pattern(top, file, drill);
    if (const TomlNode* table = top.table("opponent")) {
        TableReader opponent(*table, file, "opponent.");
        read_opponent(opponent, drill.opponent);
        top.take_error(opponent.finish());
    }
    if (drill.title.empty()) top.refuse("title", "is missing", "say in one line what the drill practises");
    if (drill.test && drill.start != StartKind::random)
        top.refuse("test", "needs start = \"random\"", "a test freezes all but the order, with random waits");
    if (auto read = top.finish(); !read) return tl::make_unexpected(read.error());
    return drill;
}

}  // namespace

Expected<Drill> parse_drill(const std::string& text, const std::string& file, const std::string& name,
                            const Settings& settings) {
    const auto root = parse_toml(text, file);
    if (!root) return tl::make_unexpected(root.error());
    return drill_from(*root, file, name, settings);
}

Expected<Drill> read_drill(const std::filesystem::path& path, const Settings& settings) {
    const auto root = parse_toml_file(path);
    if (!root) return tl::make_unexpected(root.error());
    return drill_from(*root, path.string(), path.stem().string(), settings);
}

Expected<std::vector<Drill>> list_drills(const Settings& settings) {
    std::vector<std::filesystem::path> files;
    std::error_code error;
    for (const auto& entry : std::filesystem::directory_iterator(config_folder() / "drills", error))
        if (entry.path().extension() == ".toml") files.push_back(entry.path());
    if (error)
        return failure(ErrorKind::not_found,
                       "the drills in " + (config_folder() / "drills").string() + " can't be read",
                       "set BREAKSTEP_CONFIG to the project's config folder");
    std::sort(files.begin(), files.end());
    std::vector<Drill> drills;
    for (const auto& file : files) {
        auto drill = read_drill(file, settings);
        if (!drill) return tl::make_unexpected(drill.error());
        drills.push_back(std::move(*drill));
    }
    // Tests last; otherwise the easier level first.
    std::stable_sort(drills.begin(), drills.end(), [](const Drill& a, const Drill& b) {
        return std::pair(a.test, a.level) < std::pair(b.test, b.level);
    });
    return drills;
}

Expected<Drill> load_drill(const std::string& name_or_path, const Settings& settings) {
    if (name_or_path.find('/') != std::string::npos || name_or_path.ends_with(".toml"))
        return read_drill(name_or_path, settings);
    const std::filesystem::path path = config_folder() / "drills" / (name_or_path + ".toml");
    std::error_code ignored;
    if (std::filesystem::exists(path, ignored)) return read_drill(path, settings);
    std::string names;
    if (const auto drills = list_drills(settings))
        for (const Drill& drill : *drills) names += (names.empty() ? "" : ", ") + drill.name;
    return failure(ErrorKind::not_found, "there is no drill \"" + name_or_path + "\"",
                   "take one of these, or name a file: " + names);
}

}  // namespace breakstep
