#include "settings/countering_keys.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <map>
#include <set>
#include <system_error>
#include <utility>

#include "core/trade/rules.hpp"
#include "settings/opponent_keys.hpp"
#include "settings/table_reader.hpp"
#include "settings/words_of.hpp"

namespace breakstep {
namespace {

PadSet pads_of(TableReader& table, std::string_view key) {
    std::vector<std::size_t> pads;
    table.words(key, words_up_to(PadRole::low_right), pads);
    PadSet set = 0;
    for (const std::size_t pad : pads) set = static_cast<PadSet>(set | pad_bit(static_cast<PadRole>(pad)));
    return set;
}

void read_manner(TableReader& top, const std::string& file, const std::string& key, Manner& manner, PadSet* pads) {
    const TomlNode* node = top.table(key);
    if (node == nullptr) return;
    TableReader table(*node, file, key + ".");
    table.real("share", 0, 1, manner.share);
    table.duration("delay_ms", Duration{}, 3000ms, manner.delay);
    if (pads != nullptr) *pads = pads_of(table, "pads");
    if (!table.has("share")) table.refuse("share", "is missing", "say how often, 0 to 1");
    if (pads != nullptr && *pads == 0) table.refuse("pads", "is missing", "name the pads whose strike opens the door");
    top.take_faults(table);
}

// Kinds in hundredths become shares of twenty.
constexpr std::int32_t share_step = 5;

// What is asked of who meets a kind, where the opponent's file says kinds alone.
AttackChoice usual_answer(AttackKind kind) {
    AttackChoice attack;
    attack.kind = kind;
    switch (kind) {
        case AttackKind::single:
            attack.moment = Moment::drop;
            break;
        case AttackKind::rebound:
            attack.moment = Moment::drop;
            attack.moments = moment_bit(Moment::gap) | moment_bit(Moment::drop);
            break;
        case AttackKind::carry:
            attack.moment = Moment::drop;
            break;
        case AttackKind::reset:
        case AttackKind::leg_to_hands:
            attack.moment = Moment::gap;
            attack.counter = Counter::back_hand;
            break;
        case AttackKind::feint:
            break;
    }
    return attack;
}

void read_kinds(TableReader& top, const std::string& file, Drill& drill) {
    const TomlNode* node = top.table("kinds");
    if (node == nullptr) return top.refuse("kinds", "is missing", "give a table [kinds] with kinds in hundredths");
    TableReader table(*node, file, "kinds.");
    std::int32_t sum = 0;
    for (int i = 0; i <= static_cast<int>(AttackKind::feint); ++i) {
        const auto kind = static_cast<AttackKind>(i);
        std::int32_t hundredths = 0;
        table.integer(word(kind), 0, 100, hundredths);
        sum += hundredths;
        if (hundredths % share_step != 0)
            table.refuse(word(kind), fmt::format("is {}, and kinds go by fives", hundredths), "take a multiple of 5");
        if (hundredths < share_step) continue;
        AttackChoice attack = usual_answer(kind);
        attack.share = hundredths / share_step;
        drill.attacks.push_back(attack);
    }
    if (sum != 100 && table.knows_all())
        table.refuse("single", fmt::format("and the others come to {}", sum), "make the kinds come to 100");
    top.take_faults(table);
}

// `after`: what comes after each kind, in thousandths: an order that was learned of somebody.
void read_order(TableReader& top, const std::string& file, Drill& drill) {
    const TomlNode* node = top.table("after");
    if (node == nullptr) return;
    constexpr std::int32_t whole = 1000;
    TableReader rows(*node, file, "after.");
    std::vector<double> order;
    for (const AttackChoice& from : drill.attacks) {
        const std::string key(word(from.kind));
        const TomlNode* row_node = rows.table(key);
        if (row_node == nullptr) {
            rows.refuse(key, "is missing", "say in thousandths what comes after each kind that comes at all");
            continue;
        }
        TableReader row(*row_node, file, "after." + key + ".");
        std::int32_t sum = 0;
        for (const AttackChoice& to : drill.attacks) {
            std::int32_t thousandths = 0;
            row.integer(word(to.kind), 0, whole, thousandths);
            sum += thousandths;
            order.push_back(static_cast<double>(thousandths) / whole);
        }
        if (sum != whole)
            row.refuse(word(from.kind), fmt::format("and the others come to {}", sum), "make each row come to 1000");
        rows.take_faults(row);
    }
    top.take_faults(rows);
    if (order.size() == drill.attacks.size() * drill.attacks.size()) drill.order = std::move(order);
}

void read_draws(TableReader& top, Manners& manners) {
    std::vector<std::size_t> acts;
    top.words("draws", words_up_to(DrewBy::hand_hidden), acts);
    for (const std::size_t act : acts) manners.draw_by(static_cast<DrewBy>(act));
    for (const DrewBy act : {DrewBy::nothing, DrewBy::ground_given})
        if (manners.names(act))
            top.refuse("draws", fmt::format("names \"{}\", which draws nothing", word(act)),
                       "take it out; what follows who gives ground once is the table [retreated_from]");
}

void read_leans(TableReader& top, const std::string& file, Drill& drill) {
    read_telegraph(top, file, drill.telegraph);
    if (const TomlNode* node = top.table("drawn")) {
        TableReader table(*node, file, "drawn.");
        double share = 1 - drill.withheld;
        table.real("share", 0.1, 1, share);
        read_drawn_delay(table, drill.drawn);
        drill.withheld = 1 - share;
        top.take_faults(table);
    }
}

Expected<Drill> opponent_from(const TomlNode& root, const std::string& file, const std::string& name,
                              const Settings& settings) {
    Drill drill;
    TableReader top(root, file);
    top.text("title", drill.title);
    top.text("for", drill.whom);
    top.one_of("level", words_up_to(Level::advanced), drill.level);
    drill.opponent = settings.opponent(drill.level);
    top.duration("wait_minimum_s", 1s, 10s, drill.wait_minimum);
    top.duration("wait_extra_s", Duration{}, 10s, drill.wait_extra);
    // A wait beyond the cap is a catch trial: of such a wait one in twelve, as with the built-in ones.
    drill.wait_cap = drill.wait_minimum + drill.wait_extra * 5 / 2;
    read_kinds(top, file, drill);
    read_order(top, file, drill);
    read_draws(top, drill.manners);
    read_leans(top, file, drill);
    read_manners(top, file, drill.manners);
    if (const TomlNode* table = top.table("opponent")) {
        TableReader opponent(*table, file, "opponent.");
        read_opponent(opponent, drill.opponent);
        top.take_faults(opponent);
    }
    drill.manners.opponent = name;
    if (drill.title.empty()) top.refuse("title", "is missing", "say in one line what this opponent does");
    if (drill.whom.empty()) top.refuse("for", "is missing", "say in one sentence whom it is for");
    if (auto finished = top.finish(); !finished) return tl::make_unexpected(finished.error());
    return drill;
}

}  // namespace

std::vector<std::filesystem::path> opponent_folders() {
    return {own_folder() / "opponents", config_folder() / "opponents"};
}

Expected<Drill> parse_opponent(const std::string& text, const std::string& file, const std::string& name,
                               const Settings& settings) {
    const auto root = parse_toml(text, file);
    if (!root) return tl::make_unexpected(root.error());
    return opponent_from(*root, file, name, settings);
}

namespace {

std::string opponents_there() {
    std::set<std::string> names;
    for (const std::filesystem::path& folder : opponent_folders()) {
        std::error_code ignored;
        for (const auto& each : std::filesystem::directory_iterator(folder, ignored))
            if (each.path().extension() == ".toml") names.insert(each.path().stem().string());
    }
    return fmt::format("{}", fmt::join(names, ", "));
}

}  // namespace

Expected<Drill> load_opponent(const std::string& name, const Settings& settings) {
    const bool plain = !name.empty() && std::all_of(name.begin(), name.end(), [](char each) {
        return (each >= 'a' && each <= 'z') || (each >= '0' && each <= '9') || each == '-';
    });
    std::error_code ignored;
    for (const std::filesystem::path& folder : opponent_folders()) {
        const std::filesystem::path path = folder / (name + ".toml");
        if (!plain || !std::filesystem::exists(path, ignored)) continue;
        const auto root = parse_toml_file(path);
        if (!root) return tl::make_unexpected(root.error());
        return opponent_from(*root, path.string(), name, settings);
    }
    return failure(ErrorKind::not_found, fmt::format("there is no opponent \"{}\"", name),
                   fmt::format("take one of {}, or write your own into {}", opponents_there(),
                               opponent_folders().front().string()));
}

Expected<std::vector<Drill>> list_opponents(const Settings& settings, std::vector<Error>& unusable) {
    std::map<std::string, std::filesystem::path> files;
    for (const std::filesystem::path& folder : opponent_folders()) {
        std::error_code error;
        for (const auto& entry : std::filesystem::directory_iterator(folder, error))
            if (entry.path().extension() == ".toml") files.emplace(entry.path().stem().string(), entry.path());
    }
    if (files.empty())
        return failure(ErrorKind::not_found, "there are no opponents in " + opponent_folders().back().string(),
                       "set BREAKSTEP_CONFIG to the project's config folder");
    std::vector<Drill> opponents;
    for (const auto& [name, path] : files) {
        auto opponent = load_opponent(name, settings);
        if (opponent)
            opponents.push_back(std::move(*opponent));
        else
            unusable.push_back(opponent.error());
    }
    return opponents;
}

void read_second_strike(TableReader& attack_table, AttackChoice& attack) {
    attack.then_pads = pads_of(attack_table, "then_pads");
    attack_table.duration("then_within_ms", 150ms, 2000ms, attack.then_within);
    if (attack_table.has("then_within_ms") && attack.then_pads == 0)
        attack_table.refuse("then_within_ms", "is only used beside then_pads", "name the pads, or take it out");
}

bool read_telegraph(TableReader& top, const std::string& file, Telegraph& telegraph) {
    const TomlNode* node = top.table("telegraph");
    if (node == nullptr) return false;
    TableReader table(*node, file, "telegraph.");
    telegraph.shown = 0.8;
    table.range_ms("delay_ms", telegraph.delay);
    table.real("spread", 0, 1, telegraph.spread);
    table.real("shown", 0, 1, telegraph.shown);
    table.real("lies", 0, 0.5, telegraph.lies);
    if (telegraph.delay.longest > 700ms)
        table.refuse("delay_ms", "is longer than 700 ms",
                     "make it shorter: the screen must know of a lean before it begins");
    top.take_faults(table);
    return true;
}

void read_drawn_delay(TableReader& table, DrawnDelay& drawn) {
    drawn.mean = 450ms;
    table.duration("delay_ms", 150ms, 1500ms, drawn.mean);
    table.real("spread", 0, 0.5, drawn.spread);
}

void read_manners(TableReader& top, const std::string& file, Manners& manners) {
    read_manner(top, file, "stepped_at", manners.stepped_at, nullptr);
    read_manner(top, file, "retreated_from", manners.retreated_from, nullptr);
    read_manner(top, file, "struck", manners.struck, nullptr);
    read_manner(top, file, "door", manners.door, &manners.door_pads);
    top.real("delays_spread", 0, 1, manners.spread);
}

void read_opponent_named(TableReader& top, Drill& drill, const Settings& settings) {
    std::string name;
    top.text("against", name);
    if (name.empty()) return;
    auto opponent = load_opponent(name, settings);
    if (!opponent)
        return top.refuse("against", "names no opponent that can be used: " + opponent.error().what,
                          opponent.error().to_do);
    drill.level = opponent->level;
    drill.opponent = opponent->opponent;
    drill.wait_minimum = opponent->wait_minimum;
    drill.wait_extra = opponent->wait_extra;
    drill.wait_cap = opponent->wait_cap;
    drill.telegraph = opponent->telegraph;
    drill.drawn = opponent->drawn;
    drill.withheld = opponent->withheld;
    drill.manners = opponent->manners;
    drill.attacks = opponent->attacks;
    drill.order = opponent->order;
}

void read_countering(TableReader& top, const std::string& file, Drill& drill) {
    top.text("for", drill.whom);
    top.boolean("level_follows", drill.following.follows);
    top.real("level_share", 0.5, 0.95, drill.following.share);
    if (top.has("level_share") && !drill.following.follows)
        top.refuse("level_share", "is only used by level_follows = true", "take it out, or let the level follow");
    top.one_of("done_is", words_up_to(RungAim::edge), drill.asks.rung);
    top.duration("out_within_ms", 200ms, 2000ms, drill.asks.out_within);
    if (drill.asks.rung == RungAim::leave && drill.asks.out_within == Duration{}) drill.asks.out_within = 600ms;
    if (drill.asks.rung == RungAim::edge) drill.asks.edge_within = edge_answered_within;
    top.duration("edge_within_ms", 500ms, 5000ms, drill.asks.edge_within);
    top.boolean("off_line", drill.asks.off_line);
    top.integer("call_it_set", 1, 20, drill.asks.call_it_set);
    top.boolean("first_or_after", drill.asks.first_or_after);
    top.boolean("no_more_ground", drill.asks.no_more_ground);
    if (top.has("draws")) drill.manners.draws = drill.manners.draws_too = 0;
    read_draws(top, drill.manners);
    read_manners(top, file, drill.manners);
}

}  // namespace breakstep
