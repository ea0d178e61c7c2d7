#include "settings/evening_file.hpp"

#include <filesystem>
#include <system_error>

#include "settings/drill_file.hpp"
#include "settings/table_reader.hpp"

namespace breakstep {
namespace {

using namespace evening;

constexpr std::string_view kinds[] = {"hall", "rounds"};
constexpr std::string_view whose[] = {"all", "juniors", "adults"};
constexpr double minutes_max = 240;

Block read_block(TableReader& table) {
    Block block;
    double minutes = 0;
    table.text("title", block.title);
    table.real("minutes", 0.1, minutes_max, minutes);
    table.one_of("kind", kinds, block.kind);
    table.one_of("who", whose, block.who);
    table.text("drill", block.drill);
    table.integer("sets", 1, 20, block.sets);
    table.integer("reps", 1, 60, block.reps);
    table.boolean("beyond_age", block.beyond_age);
    block.length = Duration(static_cast<std::int64_t>(minutes * 60e9));
    if (!table.has("title")) table.refuse("title", "is missing", "say what the hall does: title = \"warm-up\"");
    if (!table.has("minutes")) table.refuse("minutes", "is missing", "say how long it takes");
    if (block.kind == BlockKind::hall)
        for (const char* key : {"who", "sets", "reps", "beyond_age"})
            if (table.has(key))
                table.refuse(key, "makes no sense in a block of the hall", "take it out, or say kind = \"rounds\"");
    return block;
}

Expected<std::vector<Block>> blocks_from(const TomlNode& root, const std::string& file) {
    std::vector<Block> blocks;
    TableReader top(root, file);
    for (const TomlNode* each : top.tables("block")) {
        TableReader table(*each, file, "block.");
        blocks.push_back(read_block(table));
        top.take_faults(table);
    }
    if (blocks.empty()) top.refuse("block", "is missing: there must be at least one", "add a table [[block]]");
    if (auto finished = top.finish(); !finished) return tl::make_unexpected(finished.error());
    return blocks;
}

}  // namespace

Expected<std::vector<Block>> parse_evening(const std::string& text, const std::string& file) {
    const auto root = parse_toml(text, file);
    if (!root) return tl::make_unexpected(root.error());
    return blocks_from(*root, file);
}

Expected<EveningPlan> load_evening(const std::string& path, const Settings& settings) {
    std::filesystem::path from = path;
    std::error_code problem;
    if (path.empty()) from = own_folder() / "evening.toml";
    if (path.empty() && !std::filesystem::exists(from, problem)) from = config_folder() / "evening.toml";
    const auto root = parse_toml_file(from);
    if (!root) return tl::make_unexpected(root.error());
    auto blocks = blocks_from(*root, from.string());
    if (!blocks) return tl::make_unexpected(blocks.error());
    EveningPlan plan;
    plan.blocks = std::move(*blocks);
    for (Block& block : plan.blocks) {
        if (block.drill.empty()) continue;
        auto drill = load_drill(block.drill, settings);
        if (!drill)
            return failure(drill.error().kind,
                           from.string() + ": the block \"" + block.title + "\": " + drill.error().what,
                           drill.error().to_do);
        const bool by_file = drill->name != block.drill;
        block.drill = drill->name;
        if (by_file) plan.drills.push_back(std::move(*drill));
    }
    return plan;
}

std::vector<Block> scaled_to(std::vector<Block> blocks, Duration whole) {
    Duration planned{};
    for (const Block& block : blocks) planned += block.length;
    if (planned <= Duration{}) return blocks;
    const double share = static_cast<double>(whole.count()) / static_cast<double>(planned.count());
    for (Block& block : blocks)
        block.length = Duration(static_cast<std::int64_t>(static_cast<double>(block.length.count()) * share));
    return blocks;
}

}  // namespace breakstep
