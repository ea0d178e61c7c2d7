#include "settings/settings.hpp"

#include <cstdlib>

#include "core/iso_date.hpp"
#include "places.hpp"
#include "settings/opponent_keys.hpp"
#include "settings/table_reader.hpp"
#include "settings/words_of.hpp"

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

// "~/" is the person's own folder, as in a shell.
void read_path(TableReader& table, std::string_view key, std::string& path) {
    table.text(key, path);
    if (const char* home = std::getenv("HOME"); home != nullptr && path.starts_with("~/"))
        path = (std::filesystem::path(home) / path.substr(2)).string();
}

void read_sound(TableReader& sound, Settings& settings) {
    sound.boolean("played", settings.sound);
    sound.integer("frames", 64, 4096, settings.sound_frames);
    sound.duration("delay_ms", Duration{}, 500ms, settings.sound_delay);
    read_spread(sound, settings.sound_spread);
    read_path(sound, "voices", settings.sound_voices);
    sound.boolean("loud_hall", settings.loud_hall);
}

void read_date(TableReader& table, std::string_view key, std::string& date) {
    std::string typed = date;
    table.text(key, typed);
    if (!typed.empty() && !date_from(typed))
        table.refuse(key, "is no date of the calendar", "allowed is year-month-day, such as \"2026-09-01\", or \"\"");
    date = typed;
}

/// "" or one of the words of an enumeration.
template <class Enum>
void read_choice(TableReader& table, std::string_view key, Enum last, std::optional<Enum>& choice) {
    auto allowed = words_up_to(last);
    allowed.insert(allowed.begin(), "");
    if (const auto index = table.word_index(key, allowed))
        choice = *index == 0 ? std::nullopt : std::optional(static_cast<Enum>(*index - 1));
}

void read_progress(TableReader& table, Settings& settings) {
    table.text("measure", settings.claimed.measure);
    if (settings.claimed.measure.empty())
        table.refuse("measure", "is empty", "allowed is \"on-time rate\" or the name of an imported measure");
    read_choice(table, "moment", Moment::drop, settings.claimed.moment);
    read_choice(table, "counter", Counter::spin, settings.claimed.counter);
    read_choice(table, "stance", Stance::open, settings.claimed.stance);
    read_date(table, "from", settings.term_from);
    read_date(table, "to", settings.term_to);
}

void read_measures(const TomlNode& measures, const std::string& file, TableReader& all, Settings& settings) {
    static constexpr std::string_view ways[] = {"lower", "higher"};
    for (const TomlMember& member : measures.members) {
        const TomlNode* own = all.table(member.key);
        if (own == nullptr) continue;
        TableReader measure(*own, file, "measures." + member.key + ".");
        progress::Better better{};
        measure.one_of("better", ways, better);
        if (measure.has("better"))
            settings.claimed.better.insert_or_assign(member.key, better);
        else
            measure.refuse("better", "is missing", "write better = \"lower\" or better = \"higher\"");
        all.take_faults(measure);
    }
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
    if (const TomlNode* table = top.table("progress")) {
        TableReader progress(*table, file, "progress.");
        read_progress(progress, settings);
        top.take_faults(progress);
    }
    if (const TomlNode* table = top.table("measures")) {
        TableReader measures(*table, file, "measures.");
        read_measures(*table, file, measures, settings);
        top.take_faults(measures);
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

namespace {

Expected<void> take_root(const Expected<TomlNode>& root, const std::string& file, Settings& settings) {
    if (!root) return tl::make_unexpected(root.error());
    Settings changed = settings;
    if (auto read = read_root(*root, file, changed); !read) return read;
    settings = changed;
    return {};
}

}  // namespace

Expected<void> read_settings(const std::filesystem::path& path, Settings& settings) {
    return take_root(parse_toml_file(path), path.string(), settings);
}

Expected<void> parse_settings(const std::string& text, const std::string& file, Settings& settings) {
    return take_root(parse_toml(text, file), file, settings);
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

std::filesystem::path cache_folder() { return from_environment("XDG_CACHE_HOME", ".cache") / "breakstep"; }

std::filesystem::path config_folder() {
    if (const char* set = std::getenv("BREAKSTEP_CONFIG"); set != nullptr && *set != '\0') return set;
    return BREAKSTEP_CONFIG_DIR;
}

}  // namespace breakstep
