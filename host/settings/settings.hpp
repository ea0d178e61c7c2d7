// The coach's settings: one value with every default, overridden by files. config/default.toml lists every key with its
// default and meaning. A value; any thread.
#pragma once

#include <array>
#include <cstdint>
#include <filesystem>
#include <optional>
#include <string>

#include "core/error.hpp"
#include "core/progress/term_fold.hpp"
#include "core/time.hpp"
#include "core/trade/opponent.hpp"

namespace breakstep {

struct Settings {
    std::string club = "Saltmarsh Hall";
    std::string store;  ///< "": the usual place, see default_store()

    std::string rig_port;   ///< "": look for one
    std::string rig_board;  ///< 16 hexadecimal digits; "": any

    bool stage = true;
    bool fullscreen = false;
    bool bright_hall = false;
    std::int32_t window_width = 1280, window_height = 720;

    bool sound = true;
    std::int32_t sound_frames = 256;
    Duration sound_delay{};  ///< of the loudspeaker, as measured; used only if its spread is known
    Uncertainty sound_spread = unknown_uncertainty;
    std::string
        sound_voices;        ///< a folder of WAV files that the coach recorded; "": the sounds that come with breakstep
    bool loud_hall = false;  ///< what is heard of a result is told by the lamps as well
    Duration screen_delay{};
    Uncertainty screen_spread = unknown_uncertainty;

    /// By Level.
    std::array<OpponentSettings, 3> opponents{
        opponent_defaults(Level::beginner), opponent_defaults(Level::intermediate), opponent_defaults(Level::advanced)};

    progress::ClaimedMeasure claimed;  ///< what `progress` claims, fixed before the term is looked at
    std::string term_from, term_to;    ///< ISO dates, both inclusive; "": all there is

    [[nodiscard]] const OpponentSettings& opponent(Level level) const {
        return opponents[static_cast<std::size_t>(level)];
    }
    bool operator==(const Settings&) const = default;
};

/// Defaults, then the person's own file if there is one ($XDG_CONFIG_HOME/breakstep/settings.toml, else
/// ~/.config/...), then `extra` if not empty (missing: an error). Errors name file, line, key and what is allowed.
[[nodiscard]] Expected<Settings> load_settings(const std::string& extra);
/// One file over `settings`; nothing of one that is wrong somewhere is taken.
[[nodiscard]] Expected<void> read_settings(const std::filesystem::path& path, Settings& settings);
/// The same from its text; `file` is what errors call it.
[[nodiscard]] Expected<void> parse_settings(const std::string& text, const std::string& file, Settings& settings);

/// Where sessions are kept unless a setting or an option says otherwise: $XDG_DATA_HOME/breakstep/club.db, else
/// ~/.local/share/...
[[nodiscard]] std::filesystem::path default_store();
/// What this computer remembers and may forget: $XDG_CACHE_HOME/breakstep, else ~/.cache/breakstep.
[[nodiscard]] std::filesystem::path cache_folder();
/// Where a person's own settings.toml and drills/ are: $XDG_CONFIG_HOME/breakstep, else ~/.config/breakstep.
[[nodiscard]] std::filesystem::path own_folder();
/// The folder with default.toml and drills/ ($BREAKSTEP_CONFIG, else the one this program was built from).
[[nodiscard]] std::filesystem::path config_folder();

}  // namespace breakstep
