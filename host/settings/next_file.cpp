#include "settings/next_file.hpp"

#include <fmt/format.h>

#include <algorithm>

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
    const int reasons = (rule.above || rule.below ? 1 : 0) + (rule.fewer_than ? 1 : 0) + (rule.can_be_timed ? 1 : 0);
    if (reasons > 1)
        table.refuse("drill", "has more than one reason",
                     "keep one of: above and below; fewer_than; can_be_timed. A rule with none always holds");
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
    choice(table, "start", StartKind::tapped, rule.start);
    choice(table, "answer", progress::Answer::leading, rule.answer);
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
    table.boolean("can_be_timed", rule.can_be_timed);
    table.text("drill", rule.drill);
    table.text("say", rule.say);
    check_rule(table, rule);
    return rule;
}

void read_plan(TableReader& table, progress::PlanRules& plan) {
    table.integer("weeks", 1, 12, plan.weeks);
    std::vector<std::size_t> order;
    table.words("order", words_up_to(Moment::drop), order);
    for (const std::size_t moment : order) plan.order.push_back(static_cast<Moment>(moment));
}

Expected<NextRules> rules_from(const TomlNode& root, const std::string& file) {
    NextRules next;
    TableReader top(root, file);
    for (const TomlNode* each : top.tables("rule")) {
        TableReader table(*each, file, "rule.");
        next.rules.push_back(read_rule(table, next.rules.size() + 1));
        top.take_faults(table);
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
    return rules_from(*root, file);
}

Expected<NextRules> load_next(const Settings& settings) {
    std::filesystem::path path = own_folder() / "next.toml";
    std::error_code ignored;
    if (!std::filesystem::exists(path, ignored)) path = config_folder() / "next.toml";
    const auto root = parse_toml_file(path);
    if (!root) return tl::make_unexpected(root.error());
    auto next = rules_from(*root, path.string());
    if (!next) return next;
    for (const NextRule& rule : next->rules)
        if (const auto drill = load_drill(rule.drill, settings); !drill)
            return tl::make_unexpected(Error{drill.error().kind,
                                             fmt::format("{}: \"{}\" names a drill that can't be read: {}",
                                                         path.string(), rule.name, drill.error().what),
                                             drill.error().to_do});
    return next;
}

}  // namespace breakstep
