#include "settings/drill_file.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <tuple>

#include "core/trade/lead.hpp"
#include "settings/countering_keys.hpp"
#include "settings/opponent_keys.hpp"
#include "settings/table_reader.hpp"
#include "settings/words_of.hpp"

namespace breakstep {
namespace {

// Several moments that are all right; the first by time is the one that a latency runs from where none was hit.
void read_moments(TableReader& table, AttackChoice& attack) {
    std::vector<std::size_t> moments;
    table.words("moments", words_up_to(Moment::drop), moments);
    attack.moments = 0;
    for (const std::size_t moment : moments)
        attack.moments = static_cast<MomentSet>(attack.moments | moment_bit(static_cast<Moment>(moment)));
    if (moments.empty()) return;
    for (const Moment earliest : {Moment::gap, Moment::drop, Moment::lift})
        if (attack.asks(earliest)) attack.moment = earliest;
    if (table.has("moment"))
        table.refuse("moments", "stands beside moment", "take one of the two out: moments names all that are right");
    if (moments.size() == 1) attack.moments = 0;
}

void read_attack(TableReader& table, AttackChoice& attack) {
    table.one_of("kind", words_up_to(AttackKind::feint), attack.kind);
    table.integer("rebounds", 1, 4, attack.rebounds);
    table.integer("share", 1, 20, attack.share);
    table.one_of("moment", words_up_to(Moment::drop), attack.moment);
    read_moments(table, attack);
    table.one_of("counter", words_up_to(Counter::spin), attack.counter);
    std::vector<std::size_t> pads;
    table.words("pads", words_up_to(PadRole::low_right), pads);
    attack.pads = 0;
    for (const std::size_t pad : pads)
        attack.pads = static_cast<PadSet>(attack.pads | pad_bit(static_cast<PadRole>(pad)));
    read_second_strike(table, attack);
    if (!table.has("kind")) table.refuse("kind", "is missing", "say what attack it is: kind = \"single\"");
    for (const char* key : {"moment", "moments", "counter", "pads", "then_pads"})
        if (attack.kind == AttackKind::feint && table.has(key))
            table.refuse(key, "makes no sense for a feint", "take it out: a feint is to be held back from");
    if (attack.kind != AttackKind::rebound && table.has("rebounds"))
        table.refuse("rebounds", "belongs to kind = \"rebound\"", "take it out, or make the kind a rebound");
}

void read_attacks(TableReader& top, const std::string& file, Drill& drill) {
    // An opponent's own kinds stand where the drill names none.
    if (!top.tables("attack").empty()) drill.attacks.clear();
    // And with them the order in which it kicks.
    if (drill.attacks.empty()) drill.order.clear();
    for (const TomlNode* each : top.tables("attack")) {
        AttackChoice attack;
        TableReader table(*each, file, "attack.");
        read_attack(table, attack);
        top.take_faults(table);
        drill.attacks.push_back(attack);
    }
    // Of an opponent that can't be read its own fault is told.
    std::string against;
    top.text("against", against);
    if (drill.attacks.empty() && against.empty())
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
        top.take_faults(table);
        step.attack = attack - 1;
        drill.pattern.push_back(step);
    }
    const bool by_pattern = drill.start == StartKind::pattern;
    if (by_pattern && drill.pattern.empty())
        top.refuse("start", "is \"pattern\", but there are no steps", "add tables [[step]] with attack and wait_s");
    if (!by_pattern && !drill.pattern.empty())
        top.refuse("step", "is only used by start = \"pattern\"", "take the steps out, or change start");
}

// A wait beyond the cap is a catch trial; of 1 + Exp(extra) that happens exp(-(cap - minimum) / extra) of the time.
void check_waits(TableReader& top, const Drill& drill) {
    constexpr double most = 1.0 / 3;
    if (drill.wait_cap <= drill.wait_minimum) {
        top.refuse("wait_cap_s", "is not above wait_minimum_s", "make it larger: every longer wait is a catch trial");
        return;
    }
    if (drill.wait_extra == Duration{}) return;
    const double room = static_cast<double>((drill.wait_cap - drill.wait_minimum).count());
    const double share = std::exp(-room / static_cast<double>(drill.wait_extra.count()));
    if (share > most)
        top.refuse(top.has("wait_cap_s") ? "wait_cap_s" : "wait_extra_s",
                   fmt::format("would make {:.0f} of 100 waits catch trials, in which nothing comes", share * 100),
                   "make wait_cap_s larger or wait_extra_s smaller: at most 33 of 100 are allowed");
}

void read_timing(TableReader& top, Drill& drill) {
    top.integer("sets", 1, 20, drill.sets);
    top.integer("reps", 1, 60, drill.reps);
    top.duration("rest_s", 1s, 600s, drill.rest);
    top.duration("wait_minimum_s", 1s, 10s, drill.wait_minimum);
    top.duration("wait_extra_s", Duration{}, 10s, drill.wait_extra);
    top.duration("wait_cap_s", 1s, 30s, drill.wait_cap);
    top.duration("lead_ms", Duration{}, lead_longest, drill.lead);
    top.real("withheld", 0, 0.9, drill.withheld);
    if (drill.start != StartKind::drawn && top.has("withheld"))
        top.refuse("withheld", "is only used by start = \"drawn\"", "take it out, or change start");
    check_waits(top, drill);
}

void read_leans(TableReader& top, const std::string& file, Drill& drill) {
    if (read_telegraph(top, file, drill.telegraph)) {
        if (drill.start != StartKind::random)
            top.refuse("telegraph", "is only used by start = \"random\"", "take it out, or change start");
        if (!drill.screen) top.refuse("telegraph", "needs the screen: lamps have no lean", "set screen = true");
    }
    if (const TomlNode* node = top.table("drawn")) {
        TableReader table(*node, file, "drawn.");
        read_drawn_delay(table, drill.drawn);
        top.take_faults(table);
        if (drill.start != StartKind::drawn)
            top.refuse("drawn", "is only used by start = \"drawn\"", "take it out, or change start");
    }
}

// A test is the same for every athlete, every evening: whatever it leaves out is the built-in value, never a setting.
void check_test(TableReader& top, const Drill& drill) {
    if (!drill.test) return;
    if (drill.start != StartKind::random)
        top.refuse("test", "needs start = \"random\"", "a test freezes all but the order, with random waits");
    if (drill.opponent.untidy)
        top.refuse("test", "can't have an untidy opponent", "a test is the same each time: take untidy out");
    if (drill.wait_extra == Duration{}) top.refuse("test", "needs random waits", "give wait_extra_s a value above 0");
}

// A drill with its step on the ladder; steps_on_ladder for one that has none.
struct DrillFile {
    Drill drill;
    std::int32_t step = 0;
};

void read_cues(TableReader& top, Drill& drill) {
    top.boolean("lamps", drill.lamps);
    top.boolean("sound", drill.sound);
    top.boolean("screen", drill.screen);
    if (!drill.lamps && !drill.sound && !drill.screen)
        top.refuse("lamps", "is false, and so are sound and screen: nothing would cue the athlete",
                   "turn one of them on");
}

void read_partner(TableReader& top, Drill& drill) {
    top.one_of("source", words_up_to(AttackSource::partner), drill.partner.source);
    top.duration("round_s", 5s, 600s, drill.partner.round);
    const bool partner = drill.partner.source == AttackSource::partner;
    const bool free = drill.start == StartKind::free, coin = drill.start == StartKind::coin;
    if ((free || coin) && !partner)
        top.refuse("start", fmt::format("is \"{}\", which needs a partner", word(drill.start)),
                   "add source = \"partner\", or change start");
    if (partner && (drill.start == StartKind::drawn || drill.start == StartKind::hunted))
        top.refuse("start", fmt::format("is \"{}\", which no partner can be told in time", word(drill.start)),
                   "take random, pattern, tapped, free or coin");
    if (partner && drill.test)
        top.refuse("test", "can't be with a partner", "a test is the same each time, and no leg is: take test out");
    if (!free && top.has("round_s"))
        top.refuse("round_s", "is only used by start = \"free\"", "take it out, or change start");
}

Expected<DrillFile> drill_from(const TomlNode& root, const std::string& file, const std::string& name,
                               const Settings& settings) {
    DrillFile read;
    Drill& drill = read.drill;
    drill.name = name;
    TableReader top(root, file);
    top.text("title", drill.title);
    read.step = steps_on_ladder + 1;
    top.integer("ladder", 1, steps_on_ladder, read.step);
    top.one_of("level", words_up_to(Level::advanced), drill.level);
    top.boolean("test", drill.test);
    const Level level = drill.level;
    read_opponent_named(top, drill, settings);
    const bool against = !drill.manners.opponent.empty();
    if (top.has("level")) drill.level = level;
    if (!against || top.has("level"))
        drill.opponent = drill.test ? opponent_defaults(drill.level) : settings.opponent(drill.level);
    top.one_of("start", words_up_to(StartKind::countered), drill.start);
    read_partner(top, drill);
    top.one_of("stance", words_up_to(Stance::open), drill.stance);
    static constexpr std::string_view sides[] = {"left", "right", "both"};
    top.one_of("lead_sides", sides, drill.lead_sides);
    read_timing(top, drill);
    read_cues(top, drill);
    read_countering(top, file, drill);
    read_attacks(top, file, drill);
    read_pattern(top, file, drill);
    if (const TomlNode* table = top.table("opponent")) {
        TableReader opponent(*table, file, "opponent.");
        read_opponent(opponent, drill.opponent);
        top.take_faults(opponent);
    }
    read_leans(top, file, drill);
    check_countering(top, drill);
    // What its opponent does only where it is asked is left out where it is not.
    if (against && drill.start != StartKind::random) drill.telegraph = Telegraph{};
    if (against && drill.start != StartKind::drawn) drill.drawn = DrawnDelay{};
    if (drill.title.empty()) top.refuse("title", "is missing", "say in one line what the drill practises");
    check_test(top, drill);
    if (auto finished = top.finish(); !finished) return tl::make_unexpected(finished.error());
    return read;
}

Drill drill_of(DrillFile&& file) { return std::move(file.drill); }

// In lower case, with hyphens for all that is neither letter nor digit.
std::string plain_name(std::string_view text) {
    std::string name;
    for (const char each : text) {
        const bool upper = each >= 'A' && each <= 'Z';
        const bool plain = (each >= 'a' && each <= 'z') || (each >= '0' && each <= '9');
        name += upper ? static_cast<char>(each - 'A' + 'a') : plain ? each : '-';
    }
    return name;
}

// A drill is named after its file.
std::string name_of(const std::filesystem::path& path) { return plain_name(path.stem().string()); }

Expected<DrillFile> read_file(const std::filesystem::path& path, const Settings& settings) {
    const auto root = parse_toml_file(path);
    if (!root) return tl::make_unexpected(root.error());
    return drill_from(*root, path.string(), name_of(path), settings);
}

bool is_path(const std::string& name_or_path) {
    return name_or_path.find('/') != std::string::npos || name_or_path.ends_with(".toml");
}

// Every drill file there is, by name; of two with one name that of the earlier folder.
Expected<std::map<std::string, std::filesystem::path>> drill_files() {
    std::map<std::string, std::filesystem::path> files;
    for (const std::filesystem::path& folder : drill_folders()) {
        std::error_code error;
        for (const auto& entry : std::filesystem::directory_iterator(folder, error))
            if (entry.path().extension() == ".toml") files.emplace(name_of(entry.path()), entry.path());
    }
    if (files.empty())
        return failure(ErrorKind::not_found, "there are no drills in " + (config_folder() / "drills").string(),
                       "set BREAKSTEP_CONFIG to the project's config folder");
    return files;
}

}  // namespace

std::vector<std::filesystem::path> drill_folders() { return {own_folder() / "drills", config_folder() / "drills"}; }

Expected<Drill> parse_drill(const std::string& text, const std::string& file, const std::string& name,
                            const Settings& settings) {
    const auto root = parse_toml(text, file);
    if (!root) return tl::make_unexpected(root.error());
    return drill_from(*root, file, name, settings).map(drill_of);
}

Expected<Drill> read_drill(const std::filesystem::path& path, const Settings& settings) {
    return read_file(path, settings).map(drill_of);
}

Expected<DrillList> list_drills(const Settings& settings) {
    const auto files = drill_files();
    if (!files) return tl::make_unexpected(files.error());
    std::vector<DrillFile> read;
    DrillList list;
    for (const auto& [name, path] : *files) {
        auto drill = read_file(path, settings);
        if (drill)
            read.push_back(std::move(*drill));
        else
            list.unusable.push_back(drill.error());
    }
    if (read.empty()) return tl::make_unexpected(list.unusable.front());
    std::stable_sort(read.begin(), read.end(), [](const DrillFile& a, const DrillFile& b) {
        return std::tuple(a.drill.test, a.step, a.drill.level) < std::tuple(b.drill.test, b.step, b.drill.level);
    });
    for (DrillFile& each : read) list.drills.push_back(std::move(each.drill));
    return list;
}

bool is_shipped(const std::string& name_or_path) {
    std::filesystem::path path = name_or_path;
    if (!is_path(name_or_path)) {
        const auto files = drill_files();
        if (!files) return false;
        const auto found = files->find(plain_name(name_or_path));
        if (found == files->end()) return false;
        path = found->second;
    }
    std::error_code no_such_folder;
    const std::filesystem::path folder = path.has_parent_path() ? path.parent_path() : ".";
    return std::filesystem::equivalent(folder, config_folder() / "drills", no_such_folder);
}

Expected<Drill> load_drill(const std::string& name_or_path, const Settings& settings) {
    if (is_path(name_or_path)) return read_drill(name_or_path, settings);
    const auto files = drill_files();
    if (!files) return tl::make_unexpected(files.error());
    if (const auto found = files->find(plain_name(name_or_path)); found != files->end())
        return read_drill(found->second, settings);
    std::vector<std::string> names;
    for (const auto& [name, path] : *files) names.push_back(name);
    const auto meant = nearest_word(names, name_or_path);
    return failure(ErrorKind::not_found, fmt::format("there is no drill \"{}\"", name_or_path),
                   fmt::format("{}take one of these, or name a file: {}",
                               meant ? fmt::format("did you mean {}? ", *meant) : "", fmt::join(names, ", ")));
}

}  // namespace breakstep
