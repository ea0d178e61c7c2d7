#include "cli/live_window.hpp"
#include "places.hpp"

#include <chrono>
#include <thread>

namespace breakstep {

LiveCues::Wanted wanted_cues(const CommonOptions& options, const Settings& settings) {
    LiveCues::Wanted wanted;
    wanted.sound = settings.sound && !options.headless;
    wanted.stage = settings.stage && !options.headless;
    wanted.sounds_directory = BREAKSTEP_SOUNDS_DIR;
    wanted.voices = settings.sound_voices;
    wanted.audio.frames = settings.sound_frames;
    wanted.window.width = settings.window_width;
    wanted.window.height = settings.window_height;
    wanted.window.fullscreen = settings.fullscreen;
    wanted.window.theme = settings.bright_hall ? Theme::bright_hall : Theme::dark_hall;
    return wanted;
}

void serve_window(LiveCues& cues, LiveDriver& driver, const std::function<bool()>& over) {
    constexpr auto nap = std::chrono::milliseconds(20);
    while (!over()) {
        StageWindow* window = cues.window();
        if (window == nullptr) {
            std::this_thread::sleep_for(nap);
            continue;
        }
        window->frame();
        while (const auto event = window->next_event()) {
            if (event->kind == StageEvent::Kind::quit || event->kind == StageEvent::Kind::escape) driver.stop();
            if (event->kind == StageEvent::Kind::tap) driver.request(Coach{{CoachAct::tap_attack, -1}});
        }
    }
}

void linger(LiveCues& cues, Duration most) {
    StageWindow* window = cues.window();
    if (window == nullptr || !window->is_seen()) return;
    const auto until = std::chrono::steady_clock::now() + most;
    while (std::chrono::steady_clock::now() < until) {
        window->frame();
        while (const auto event = window->next_event())
            if (event->kind == StageEvent::Kind::quit || event->kind == StageEvent::Kind::escape) return;
    }
}

}  // namespace breakstep
