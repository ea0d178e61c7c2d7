#include "settings/next_file.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <map>

#include "core/trade/junior.hpp"
#include "settings/drill_file.hpp"
#include "settings/table_reader.hpp"
#include "settings/words_of.hpp"

namespace breakstep {
namespace {

using progress::NextRule;

template <class Enum>
void choice(TableReader& table, std::string_view key, Enum last, std::optional<Enum>& target) {
    if (const auto index = table.word_index(key, words_up_to(last))) target = static_cast<Enum>(*index);
}

void share(TableReader& table, std::string_view key, std::optional<double>& target) {
    if (!table.has(key)) return;
    double border = 0;
    table.real(key, 0, 1, border);
    target = border;
}

void check_rule(TableReader& table, const NextRule& rule) {
    const int reasons = (rule.above || rule.below ? 1 : 0) + (rule.fewer_than ? 1 : 0) + (rule.can_be_timed ? 1 : 0) +
                        (rule.rung ? 1 : 0) + (rule.needs_practice ? 1 : 0);
    if (reasons > 1)
        table.refuse("drill", "has more than one reason",
                     "keep one of: above and below; fewer_than; can_be_timed; needs_practice; rung. A rule with none "
                     "always holds");
    if (rule.rung)
        for (const char* key : {"kind", "moment", "counter", "stance", "start", "verdicts", "over", "answer"})
            if (table.has(key))
                table.refuse(key, "makes no sense beside rung",
                             "take it out: what counts stands in the rung's own table");
    if (rule.answer)
        for (const char* key : {"kind", "moment", "counter", "stance", "start", "verdicts", "over"})
            if (table.has(key))
                table.refuse(key, "makes no sense beside answer",
                             "take it out: an answer is one of progress's own counts");
    if (rule.kind == AttackKind::feint)
        for (const char* key : {"moment", "counter"})
            if (table.has(key)) table.refuse(key, "makes no sense for a feint", "take it out");
    if (rule.drill.empty()) table.refuse("drill", "is missing", "name a drill: `breakstep drills` lists them");
    if (rule.say.empty()) table.refuse("say", "is missing", "write the reason as the athlete is to read it");
    for (std::size_t at = rule.say.find('{'); at != std::string::npos; at = rule.say.find('{', at + 1)) {
        const std::string_view from = std::string_view(rule.say).substr(at);
        const bool known = from.starts_with("{share}") || from.starts_with("{count}") || from.starts_with("{of}") ||
                           (rule.rung && from.starts_with("{so far}"));
        if (!known)
            table.refuse("say", "has a { that nothing is filled in for",
                         "{share}, {count} and {of} are; {so far} beside rung");
    }
}

NextRule read_rule(TableReader& table, std::size_t number) {
    static constexpr std::string_view spans[] = {"28 days", "term"};
    NextRule rule;
    rule.name = fmt::format("rule {}", number);
    table.text("name", rule.name);
    choice(table, "kind", AttackKind::feint, rule.kind);
    choice(table, "moment", Moment::drop, rule.moment);
    choice(table, "counter", Counter::spin, rule.counter);
    choice(table, "stance", Stance::open, rule.stance);
    choice(table, "start", StartKind::countered, rule.start);
    choice(table, "answer", progress::Answer::drop_or_gap, rule.answer);
    if (const auto index = table.word_index("over", spans)) rule.recent = *index == 0;
    std::vector<std::size_t> verdicts;
    table.words("verdicts", words_up_to(Verdict::gave_ground), verdicts);
    for (const std::size_t verdict : verdicts) rule.verdicts.push_back(static_cast<Verdict>(verdict));
    share(table, "above", rule.above);
    share(table, "below", rule.below);
    std::int32_t fewer_than = 0, reps_min = static_cast<std::int32_t>(rule.reps_min);
    table.integer("fewer_than", 1, 10'000, fewer_than);
    if (fewer_than > 0) rule.fewer_than = static_cast<std::uint32_t>(fewer_than);
    table.integer("reps_min", 1, 10'000, reps_min);
    rule.reps_min = static_cast<std::uint32_t>(reps_min);
    std::int32_t evenings_most = 0;
    table.integer("evenings_most", 1, 28, evenings_most);
    if (evenings_most > 0) rule.evenings_most = static_cast<std::uint32_t>(evenings_most);
    table.boolean("can_be_timed", rule.can_be_timed);
    table.boolean("needs_practice", rule.needs_practice);
    std::int32_t rung = 0;
    table.integer("rung", 1, steps_on_ladder, rung);
    if (rung > 0) rule.rung = rung;
    table.boolean("juniors", rule.juniors);
    table.text("drill", rule.drill);
    table.text("say", rule.say);
    check_rule(table, rule);
    return rule;
}

/// Marks that the ladder's accounts can work with, with room to spare.
constexpr double least_mark = 0.2, greatest_mark = 0.95;

progress::RungStandard read_rung(TableReader& table) {
    progress::RungStandard rung;
    rung.number = 0;
    table.integer("number", 1, steps_on_ladder, rung.number);
    if (rung.number == 0) table.refuse("number", "is missing", "give the rung's place on the ladder, 1 to 9");
    rung.name = fmt::format("rung {}", rung.number);
    table.text("name", rung.name);
    table.texts("drills", rung.drills);
    if (rung.drills.empty()) table.refuse("drills", "is missing", "name the drills whose reps count on this rung");
    std::vector<std::size_t> kinds;
    table.words("kinds", words_up_to(AttackKind::leg_to_hands), kinds);
    for (const std::size_t kind : kinds) rung.kinds.push_back(static_cast<AttackKind>(kind));
    choice(table, "moment", Moment::drop, rung.moment);
    choice(table, "start", StartKind::countered, rung.start);
    std::optional<Level> level;
    choice(table, "level", Level::advanced, level);
    rung.level = level.value_or(Level::beginner);
    choice(table, "junior_level", Level::advanced, rung.junior_level);
    table.real("mark", least_mark, greatest_mark, rung.mark);
    table.boolean("feints", rung.feints);
    return rung;
}

void read_plan(TableReader& table, progress::PlanRules& plan) {
    table.integer("weeks", 1, 12, plan.weeks);
    std::vector<std::size_t> order;
    table.words("order", words_up_to(Moment::drop), order);
    for (const std::size_t moment : order) plan.order.push_back(static_cast<Moment>(moment));
}

std::vector<progress::RungStandard> read_rungs(TableReader& top, const std::string& file) {
    std::vector<progress::RungStandard> rungs;
    for (const TomlNode* each : top.tables("rung")) {
        TableReader table(*each, file, "rung.");
        progress::RungStandard rung = read_rung(table);
        const bool twice = std::any_of(rungs.begin(), rungs.end(), [&](const progress::RungStandard& other) {
            return other.number == rung.number;
        });
        if (twice) table.refuse("number", "stands twice", "give each rung a number of its own");
        rungs.push_back(std::move(rung));
        top.take_faults(table);
    }
    return rungs;
}

/// The rungs where a file of rules has none of its own, and the file they stand in.
struct Ladder {
    std::vector<progress::RungStandard> rungs;
    std::string file;
};

void refuse_missing_rung(TableReader& top, const NextRule& rule, const std::string& ladder_file) {
    const std::string what = fmt::format("\"{}\" looks at rung {}, which is not ", rule.name, *rule.rung);
    if (ladder_file.empty()) return top.refuse("rule", what + "there", "add a table [[rung]] with that number");
    top.refuse("rule", what + "in " + ladder_file,
               "add that rung there; a shorter ladder wants a next.toml of its own, in " + own_folder().string());
}

Expected<NextRules> rules_from(const TomlNode& root, const std::string& file, const Ladder& ladder) {
    NextRules next;
    TableReader top(root, file);
    next.rungs = read_rungs(top, file);
    const bool own_rungs = !next.rungs.empty();
    if (!own_rungs) next.rungs = ladder.rungs;
    for (const TomlNode* each : top.tables("rule")) {
        TableReader table(*each, file, "rule.");
        next.rules.push_back(read_rule(table, next.rules.size() + 1));
        top.take_faults(table);
    }
    for (std::size_t i = 0; i < next.rules.size(); ++i)
        for (std::size_t j = 0; j < i; ++j)
            if (next.rules[i].name == next.rules[j].name)
                top.refuse("rule", fmt::format("\"{}\" stands twice", next.rules[i].name),
                           "give each a name of its own");
    for (const NextRule& rule : next.rules) {
        if (!rule.rung) continue;
        const bool there = std::any_of(next.rungs.begin(), next.rungs.end(),
                                       [&](const progress::RungStandard& rung) { return rung.number == *rule.rung; });
        if (!there) refuse_missing_rung(top, rule, own_rungs ? "" : ladder.file);
    }
    if (next.rules.empty()) top.refuse("rule", "is missing: there must be at least one", "add a table [[rule]]");
    if (const TomlNode* plan = top.table("plan")) {
        TableReader table(*plan, file, "plan.");
        read_plan(table, next.plan);
        top.take_faults(table);
    }
    if (auto finished = top.finish(); !finished) return tl::make_unexpected(finished.error());
    return next;
}

}  // namespace

Expected<NextRules> parse_next(const std::string& text, const std::string& file) {
    const auto root = parse_toml(text, file);
    if (!root) return tl::make_unexpected(root.error());
    return rules_from(*root, file, {});
}

Expected<std::vector<progress::RungStandard>> parse_ladder(const std::string& text, const std::string& file) {
    const auto root = parse_toml(text, file);
    if (!root) return tl::make_unexpected(root.error());
    TableReader top(*root, file);
    auto rungs = read_rungs(top, file);
    if (rungs.empty()) top.refuse("rung", "is missing: there must be at least one", "add a table [[rung]]");
    if (auto finished = top.finish(); !finished) return tl::make_unexpected(finished.error());
    return rungs;
}

namespace {

std::filesystem::path own_or_shipped(const char* name) {
    std::error_code ignored;
    const std::filesystem::path own = own_folder() / name;
    return std::filesystem::exists(own, ignored) ? own : config_folder() / name;
}

}  // namespace

Expected<std::vector<progress::RungStandard>> load_ladder() {
    const std::filesystem::path path = own_or_shipped("ladder.toml");
    const auto root = parse_toml_file(path);
    if (!root) return tl::make_unexpected(root.error());
    TableReader top(*root, path.string());
    auto rungs = read_rungs(top, path.string());
    if (auto finished = top.finish(); !finished) return tl::make_unexpected(finished.error());
    return rungs;
}

namespace {

Expected<Drill> drill_named(const std::string& file, const std::string& who, const std::string& name,
                            const Settings& settings) {
    auto drill = load_drill(name, settings);
    if (drill) return drill;
    return tl::make_unexpected(
        Error{drill.error().kind,
              fmt::format("{}: \"{}\" names a drill that can't be read: {}", file, who, drill.error().what),
              drill.error().to_do});
}

}  // namespace

Expected<NextRules> load_next(const Settings& settings) {
    const std::filesystem::path path = own_or_shipped("next.toml");
    const auto ladder = load_ladder();
    if (!ladder) return tl::make_unexpected(ladder.error());
    const auto root = parse_toml_file(path);
    if (!root) return tl::make_unexpected(root.error());
    auto next = rules_from(*root, path.string(), {*ladder, own_or_shipped("ladder.toml").string()});
    if (!next) return next;
    const std::string rungs_in = next->rungs == *ladder ? own_or_shipped("ladder.toml").string() : path.string();
    std::map<std::int32_t, std::vector<NextRule::Instead>> of_rungs;
    for (const progress::RungStandard& rung : next->rungs)
        for (const std::string& name : rung.drills) {
            const auto drill = drill_named(rungs_in, rung.name, name, settings);
            if (!drill) return tl::make_unexpected(drill.error());
            if (!drill->test) of_rungs[rung.number].push_back({name, youngest_age(*drill)});
        }
    for (NextRule& rule : next->rules) {
        const auto drill = drill_named(path.string(), rule.name, rule.drill, settings);
        if (!drill) return tl::make_unexpected(drill.error());
        rule.from_age = youngest_age(*drill);
        if (rule.rung && rule.from_age > 0) rule.instead = of_rungs[*rule.rung];
    }
    return next;
}

}  // namespace breakstep
