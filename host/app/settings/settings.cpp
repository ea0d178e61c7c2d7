#include "app/settings/settings.hpp"

#include <cstdlib>

#include "app/settings/opponent_keys.hpp"
#include "app/settings/table_reader.hpp"

namespace breakstep {
namespace {

std::filesystem::path from_environment(const char* variable, const char* below_home) {
    if (const char* set = std::getenv(variable); set != nullptr && *set != '\0') return set;
    const char* home = std::getenv("HOME");
    return std::filesystem::path(home != nullptr ? home : ".") / below_home;
}

void read_spread(TableReader& table, Uncertainty& spread) {
    Uncertainty read = spread == unknown_uncertainty ? -1ms : spread;
    table.duration("spread_ms", -1ms, 500ms, read);
    if (read < Uncertainty{} && read != -1ms)
        table.refuse("spread_ms", "is below 0", "allowed is a number from 0 to 500, or -1 for not measured");
    spread = read < Uncertainty{} ? unknown_uncertainty : read;
}

void read_stage(TableReader& stage, Settings& settings) {
    static constexpr std::string_view halls[] = {"dark", "bright"};
    stage.boolean("shown", settings.stage);
    stage.boolean("fullscreen", settings.fullscreen);
    stage.one_of("hall", halls, settings.bright_hall);
    stage.integer("width", 320, 7680, settings.window_width);
    stage.integer("height", 240, 4320, settings.window_height);
    stage.duration("delay_ms", Duration{}, 500ms, settings.screen_delay);
    read_spread(stage, settings.screen_spread);
}

void read_sound(TableReader& sound, Settings& settings) {
    sound.boolean("played", settings.sound);
    sound.integer("frames", 64, 4096, settings.sound_frames);
    sound.duration("delay_ms", Duration{}, 500ms, settings.sound_delay);
    read_spread(sound, settings.sound_spread);
}

// "~/" is the person's own folder, as in a shell.
void read_path(TableReader& table, std::string_view key, std::string& path) {
    table.text(key, path);
    if (const char* home = std::getenv("HOME"); home != nullptr && path.starts_with("~/"))
        path = (std::filesystem::path(home) / path.substr(2)).string();
}

Expected<void> read_root(const TomlNode& root, const std::string& file, Settings& settings) {
    TableReader top(root, file);
    top.text("club", settings.club);
    read_path(top, "store", settings.store);
    if (const TomlNode* table = top.table("rig")) {
        TableReader rig(*table, file, "rig.");
        rig.text("port", settings.rig_port);
        rig.hexadecimal_id("board", settings.rig_board);
        top.take_faults(rig);
    }
    if (const TomlNode* table = top.table("stage")) {
        TableReader stage(*table, file, "stage.");
        read_stage(stage, settings);
        top.take_faults(stage);
    }
    if (const TomlNode* table = top.table("sound")) {
        TableReader sound(*table, file, "sound.");
        read_sound(sound, settings);
        top.take_faults(sound);
    }
    if (const TomlNode* table = top.table("opponent")) {
        TableReader levels(*table, file, "opponent.");
        for (const Level level : {Level::beginner, Level::intermediate, Level::advanced})
            if (const TomlNode* own = levels.table(word(level))) {
                TableReader opponent(*own, file, "opponent." + std::string(word(level)) + ".");
                read_opponent(opponent, settings.opponents[static_cast<std::size_t>(level)]);
                levels.take_faults(opponent);
            }
        top.take_faults(levels);
    }
    return top.finish();
}

}  // namespace

void read_opponent(TableReader& table, OpponentSettings& opponent) {
    table.range_ms("lift_ms", opponent.lift);
    table.range_ms("up_ms", opponent.up);
    table.range_ms("pull_back_ms", opponent.pull_back);
    table.range_ms("drop_ms", opponent.drop);
    table.range_ms("gap_ms", opponent.gap);
    table.range_ms("carry_ms", opponent.carry);
    table.range_ms("hands_ms", opponent.hands);
    table.range_ms("feint_ms", opponent.feint);
    table.real("spread", 0, 1, opponent.spread);
    table.boolean("untidy", opponent.untidy);
}

Expected<void> read_settings(const std::filesystem::path& path, Settings& settings) {
    const auto root = parse_toml_file(path);
    if (!root) return tl::make_unexpected(root.error());
    // Nothing of a file that is wrong somewhere is taken.
    Settings changed = settings;
    if (auto read = read_root(*root, path.string(), changed); !read) return read;
    settings = changed;
    return {};
}

std::filesystem::path own_folder() { return from_environment("XDG_CONFIG_HOME", ".config") / "breakstep"; }

Expected<Settings> load_settings(const std::string& extra) {
    Settings settings;
    const auto own = own_folder() / "settings.toml";
    std::error_code ignored;
    if (std::filesystem::exists(own, ignored))
        if (auto read = read_settings(own, settings); !read) return tl::make_unexpected(read.error());
    if (!extra.empty())
        if (auto read = read_settings(extra, settings); !read) return tl::make_unexpected(read.error());
    return settings;
}

std::filesystem::path default_store() {
    return from_environment("XDG_DATA_HOME", ".local/share") / "breakstep" / "club.db";
}

std::filesystem::path config_folder() {
    if (const char* set = std::getenv("BREAKSTEP_CONFIG"); set != nullptr && *set != '\0') return set;
    return BREAKSTEP_CONFIG_DIR;
}

}  // namespace breakstep
