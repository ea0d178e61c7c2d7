// The athletes' screen: one SDL window that draws the newest view sixty times a second, each frame for the moment at
// which it will be seen, and tells when each phase was first on the screen.
//
// Owned by the application and used on the main thread (SDL wants its window and its events there): open() and every
// method but show() and next_onset(). show() belongs to one other thread (the engine's), next_onset() too: both are
// lock-free. Fails at open() when there is no display; the rest of the program works without it.
#pragma once

#include <cstdint>
#include <memory>
#include <optional>
#include <string>

#include "core/error.hpp"
#include "core/time.hpp"
#include "devices/stage/stage_view.hpp"
#include "report/drawing/palette.hpp"

namespace breakstep {

/// The first frame that showed a phase. The panel's own lag comes on top of `presented` and must be measured.
struct ScreenOnset {
    std::uint32_t rep = 0;          ///< StageAttack::rep
    std::uint32_t phase_index = 0;  ///< in its timeline
    Phase phase = Phase::guard;
    HostTime planned{};       ///< the phase's begin, as the view had it
    HostTime presented{};     ///< when Present returned for the frame that shows it first
    std::uint64_t frame = 0;  ///< that frame's index since the window opened
};

struct StageEvent {
    enum class Kind : std::uint8_t {
        quit,    ///< the window was closed
        escape,  ///< Escape
        tap,     ///< space: the coach taps
        key,     ///< any other key, see `key`
    };
    Kind kind;
    std::string key;  ///< SDL's name of the key ("A", "Return"), for Kind::key
    HostTime at{};    ///< when it was read from SDL
};

struct StageSettings {
    int width = 1280;
    int height = 720;
    bool fullscreen = false;         ///< F or F11 changes it
    Theme theme = Theme::dark_hall;  ///< B changes between dark and bright hall
    std::string title = "breakstep";
};

struct StageCounters {
    std::uint64_t frames = 0;       ///< presented
    std::uint64_t drawn = 0;        ///< of them drawn anew; the others were still
    std::uint64_t late_frames = 0;  ///< came more than half a frame after their time
    std::uint64_t onsets_lost = 0;  ///< the queue of onsets was full
    Duration frame_period{};        ///< as measured, 0 until known
};

class StageWindow {
  public:
    /// Errors: no display, no window. `device` errors say what SDL said and what to do.
    [[nodiscard]] static Expected<StageWindow> open(const StageSettings& settings);
    StageWindow(StageWindow&&) noexcept;
    StageWindow& operator=(StageWindow&&) noexcept;
    ~StageWindow();

    /// Engine's thread: what is to be shown from the next frame on.
    void show(StageView view);
    /// Engine's thread: the oldest onset not yet fetched.
    [[nodiscard]] std::optional<ScreenOnset> next_onset();

    /// Main thread: draws and presents one frame, or waits for one where the picture is still; returns about a sixtieth
    /// of a second after the one before. Call it in a loop together with next_event(). The first 24 come back to back:
    /// they measure the screen.
    void frame();
    [[nodiscard]] std::optional<StageEvent> next_event();
    [[nodiscard]] StageCounters counters() const;
    /// The screen the window is on, as the system names it: a projector's delay is not a laptop's.
    [[nodiscard]] std::string screen_name() const;
    /// The driver SDL chose ("x11", "wayland", "dummy") and the renderer, for `breakstep` to say.
    [[nodiscard]] std::string describe() const;
    /// False where SDL draws for nobody (its dummy and offscreen drivers).
    [[nodiscard]] bool is_seen() const;

  private:
    struct Inside;
    explicit StageWindow(std::unique_ptr<Inside> inside);
    std::unique_ptr<Inside> inside_;
};

}  // namespace breakstep
