#include "devices/stage/stage_window.hpp"

#include <SDL.h>
#include <cairo.h>

#include <atomic>
#include <boost/lockfree/policies.hpp>
#include <boost/lockfree/spsc_queue.hpp>
#include <chrono>
#include <string_view>
#include <thread>
#include <utility>

#include "devices/stage/cadence.hpp"
#include "devices/stage/draw_stage.hpp"
#include "devices/stage/latest_value.hpp"
#include "devices/stage/speech.hpp"

namespace breakstep {
namespace {

/// Before something moves the window keeps presenting, so that it is in step with the screen when it matters.
constexpr Duration in_step_before{200'000'000};

HostTime now() {
    return HostTime{std::chrono::duration_cast<Duration>(std::chrono::steady_clock::now().time_since_epoch())};
}

void sleep_until(HostTime time) {
    std::this_thread::sleep_until(std::chrono::steady_clock::time_point(
        std::chrono::duration_cast<std::chrono::steady_clock::duration>(time.time_since_epoch())));
}

tl::unexpected<Error> no_display(const std::string& what) {
    const std::string said = SDL_GetError();
    return failure(ErrorKind::device, "there is no stage: " + what + (said.empty() ? "" : ": " + said),
                   "go on without it, or start from a desktop with a screen");
}

/// SDL falls back on drivers that show nothing; only who asks for one by name gets it.
bool seen_by_anyone() {
    const char* driver = SDL_GetCurrentVideoDriver();
    const std::string_view name = driver != nullptr ? driver : "";
    return SDL_GetHint(SDL_HINT_VIDEODRIVER) != nullptr || (name != "offscreen" && name != "dummy" && name != "evdev");
}

/// A "graphics card" that is a program on the same processor: slower than drawing without it.
bool is_imitation(SDL_Renderer* renderer) {
    SDL_RendererInfo info;
    if (SDL_GetRendererInfo(renderer, &info) != 0 || !std::string_view(info.name).starts_with("opengl")) return false;
    using GetString = const unsigned char* (*)(unsigned);
    const auto get_string = reinterpret_cast<GetString>(SDL_GL_GetProcAddress("glGetString"));
    if (get_string == nullptr) return false;
    constexpr unsigned gl_renderer = 0x1F01;
    const auto* said = reinterpret_cast<const char*>(get_string(gl_renderer));
    if (said == nullptr) return false;
    const std::string_view name(said);
    return name.find("llvmpipe") != std::string_view::npos || name.find("softpipe") != std::string_view::npos ||
           name.find("Software") != std::string_view::npos;
}

}  // namespace

struct StageWindow::Inside {
    StageSettings settings;
    SDL_Window* window = nullptr;
    SDL_Renderer* renderer = nullptr;
    SDL_Texture* texture = nullptr;
    bool video_open = false;

    // Main thread.
    StageSize size{0, 0};
    Cadence cadence;
    HostTime drawn_for{};
    bool must_draw = true;
    bool presented_last = false;
    struct Told {
        std::uint32_t rep;
        HostTime toe_off;
        std::size_t index;
    };
    std::optional<Told> told;  // the last phase whose onset was reported
    std::string renderer_name;

    // Between the threads.
    LatestValue<StageView> views;
    boost::lockfree::spsc_queue<ScreenOnset, boost::lockfree::capacity<256>> onsets;
    std::atomic<std::uint64_t> frames{0}, drawn{0}, late_frames{0}, onsets_lost{0};
    std::atomic<std::int64_t> period{0};

    Inside() = default;
    Inside(const Inside&) = delete;
    Inside& operator=(const Inside&) = delete;
    ~Inside() {
        if (texture != nullptr) SDL_DestroyTexture(texture);
        if (renderer != nullptr) SDL_DestroyRenderer(renderer);
        if (window != nullptr) SDL_DestroyWindow(window);
        if (video_open) SDL_QuitSubSystem(SDL_INIT_VIDEO);
    }

    [[nodiscard]] bool make_renderer(Uint32 flags) {
        renderer = SDL_CreateRenderer(window, -1, flags);
        if (renderer == nullptr) return false;
        SDL_RendererInfo info;
        if (SDL_GetRendererInfo(renderer, &info) == 0) renderer_name = info.name;
        return true;
    }

    Expected<void> open_window() {
        // The application ends by its own signals; SDL's software window must not go through an imitated card.
        SDL_SetHint(SDL_HINT_NO_SIGNAL_HANDLERS, "1");
        SDL_SetHint(SDL_HINT_FRAMEBUFFER_ACCELERATION, "0");
        if (SDL_InitSubSystem(SDL_INIT_VIDEO) != 0) return no_display("no screen was found");
        video_open = true;
        if (!seen_by_anyone()) {
            SDL_ClearError();
            return no_display("no screen was found");
        }
        const Uint32 fullscreen = settings.fullscreen ? SDL_WINDOW_FULLSCREEN_DESKTOP : 0;
        window =
            SDL_CreateWindow(settings.title.c_str(), SDL_WINDOWPOS_CENTERED, SDL_WINDOWPOS_CENTERED, settings.width,
                             settings.height, SDL_WINDOW_RESIZABLE | SDL_WINDOW_ALLOW_HIGHDPI | fullscreen);
        if (window == nullptr) return no_display("no window could be opened");
        if (!make_renderer(SDL_RENDERER_PRESENTVSYNC)) return no_display("nothing can draw in the window");
        if (is_imitation(renderer)) {
            SDL_DestroyRenderer(renderer);
            if (!make_renderer(SDL_RENDERER_SOFTWARE)) return no_display("nothing can draw in the window");
        }
        SDL_DisableScreenSaver();
        SDL_ShowCursor(settings.fullscreen ? SDL_DISABLE : SDL_ENABLE);
        return {};
    }

    /// The texture has the window's size; false while it can't be had.
    bool fit_texture() {
        StageSize wanted{0, 0};
        if (SDL_GetRendererOutputSize(renderer, &wanted.width, &wanted.height) != 0) return false;
        if (texture != nullptr && wanted.width == size.width && wanted.height == size.height) return true;
        if (texture != nullptr) SDL_DestroyTexture(texture);
        texture = SDL_CreateTexture(renderer, SDL_PIXELFORMAT_RGB888, SDL_TEXTUREACCESS_STREAMING, wanted.width,
                                    wanted.height);
        size = wanted;
        must_draw = true;
        return texture != nullptr;
    }

    void draw(HostTime shown_at) {
        void* pixels = nullptr;
        int pitch = 0;
        if (SDL_LockTexture(texture, nullptr, &pixels, &pitch) != 0) return;
        cairo_surface_t* surface = cairo_image_surface_create_for_data(
            static_cast<unsigned char*>(pixels), CAIRO_FORMAT_RGB24, size.width, size.height, pitch);
        cairo_t* cairo = cairo_create(surface);
        draw_stage(cairo, views.latest(), shown_at, size, settings.theme);
        cairo_destroy(cairo);
        cairo_surface_destroy(surface);
        SDL_UnlockTexture(texture);
        drawn_for = shown_at;
        must_draw = false;
        drawn.fetch_add(1, std::memory_order_relaxed);
    }

    /// Presents the texture, waiting for `shown_at` where presenting itself does not wait; returns when it was done.
    HostTime present(HostTime shown_at) {
        SDL_RenderCopy(renderer, texture, nullptr, nullptr);
        if (cadence.warm() && !cadence.waits()) sleep_until(shown_at);
        SDL_RenderPresent(renderer);
        const HostTime done = now();
        if (cadence.warm() && done > shown_at + cadence.period() / 2)
            late_frames.fetch_add(1, std::memory_order_relaxed);
        cadence.presented(done, shown_at, presented_last);
        presented_last = true;
        frames.fetch_add(1, std::memory_order_relaxed);
        if (cadence.warm()) period.store(cadence.period().count(), std::memory_order_relaxed);
        return done;
    }

    void tell_onset(HostTime presented) {
        const StageView& view = views.latest();
        if (view.screen != StageScreen::live || !view.opponent) return;
        const auto shown = attack_at(view, drawn_for);
        if (!shown) return;
        const AttackTimeline& timeline = shown->attack->timeline;
        const auto index = timeline.index_at(shown->since_toe_off);
        if (!index) return;
        const std::uint32_t rep = shown->attack->rep;
        const HostTime toe_off = shown->attack->toe_off;
        // Plans move a little when a clock is fitted anew; that is the same attack still.
        const bool same = told && told->rep == rep && std::chrono::abs(told->toe_off - toe_off) < 100ms;
        if (same && told->index >= *index) return;
        told = {rep, toe_off, *index};
        const ScreenOnset onset{rep,
                                static_cast<std::uint32_t>(*index),
                                timeline.phases[*index].phase,
                                toe_off + timeline.begin_of(*index),
                                presented,
                                frames.load(std::memory_order_relaxed) - 1};
        if (!onsets.push(onset)) onsets_lost.fetch_add(1, std::memory_order_relaxed);
    }

    void toggle_fullscreen() {
        settings.fullscreen = !settings.fullscreen;
        SDL_SetWindowFullscreen(window, settings.fullscreen ? SDL_WINDOW_FULLSCREEN_DESKTOP : 0);
        SDL_ShowCursor(settings.fullscreen ? SDL_DISABLE : SDL_ENABLE);
        must_draw = true;
    }

    std::optional<StageEvent> key(SDL_Keycode code) {
        switch (code) {
            case SDLK_ESCAPE:
                return StageEvent{StageEvent::Kind::escape, "", now()};
            case SDLK_SPACE:
                return StageEvent{StageEvent::Kind::tap, "", now()};
            case SDLK_F11:
            case SDLK_f:
                toggle_fullscreen();
                return std::nullopt;
            case SDLK_b:
                settings.theme = settings.theme == Theme::dark_hall ? Theme::bright_hall : Theme::dark_hall;
                must_draw = true;
                return std::nullopt;
            default:
                return StageEvent{StageEvent::Kind::key, SDL_GetKeyName(code), now()};
        }
    }
};

StageWindow::StageWindow(std::unique_ptr<Inside> inside) : inside_(std::move(inside)) {}
StageWindow::StageWindow(StageWindow&&) noexcept = default;
StageWindow& StageWindow::operator=(StageWindow&&) noexcept = default;
StageWindow::~StageWindow() = default;

Expected<StageWindow> StageWindow::open(const StageSettings& settings) {
    if (settings.width < 320 || settings.height < 180 || settings.width > 16'384 || settings.height > 16'384)
        return failure(ErrorKind::bad_input,
                       "a stage of " + std::to_string(settings.width) + " x " + std::to_string(settings.height) +
                           " can't be opened",
                       "choose from 320 x 180 to 16384 x 16384");
    auto inside = std::make_unique<Inside>();
    inside->settings = settings;
    const auto opened = inside->open_window();
    if (!opened) return tl::make_unexpected(opened.error());
    return StageWindow(std::move(inside));
}

void StageWindow::show(StageView view) { inside_->views.put(std::move(view)); }

std::optional<ScreenOnset> StageWindow::next_onset() {
    ScreenOnset onset;
    if (!inside_->onsets.pop(onset)) return std::nullopt;
    return onset;
}

void StageWindow::frame() {
    Inside& in = *inside_;
    if (in.views.take()) in.must_draw = true;
    const HostTime shown_at = in.cadence.expected(now());
    if (!in.fit_texture()) {
        sleep_until(shown_at);
        in.cadence.skipped(shown_at);
        in.presented_last = false;
        return;
    }
    const StageView& view = in.views.latest();
    const bool still =
        in.cadence.warm() && !in.must_draw && !stage_changes(view, in.drawn_for, shown_at + in_step_before);
    if (still) {
        sleep_until(shown_at);
        in.cadence.skipped(shown_at);
        in.presented_last = false;
        return;
    }
    if (in.must_draw || stage_changes(view, in.drawn_for, shown_at)) in.draw(shown_at);
    in.tell_onset(in.present(shown_at));
}

std::optional<StageEvent> StageWindow::next_event() {
    SDL_Event event;
    while (SDL_PollEvent(&event) != 0) {
        switch (event.type) {
            case SDL_QUIT:
                return StageEvent{StageEvent::Kind::quit, "", now()};
            case SDL_WINDOWEVENT:
                inside_->must_draw = true;
                break;
            case SDL_KEYDOWN:
                if (event.key.repeat != 0) break;
                if (auto told = inside_->key(event.key.keysym.sym)) return told;
                break;
            default:
                break;
        }
    }
    return std::nullopt;
}

StageCounters StageWindow::counters() const {
    const Inside& in = *inside_;
    return {.frames = in.frames.load(),
            .drawn = in.drawn.load(),
            .late_frames = in.late_frames.load(),
            .onsets_lost = in.onsets_lost.load(),
            .frame_period = Duration{in.period.load()}};
}

std::string StageWindow::screen_name() const {
    const int display = SDL_GetWindowDisplayIndex(inside_->window);
    const char* name = display < 0 ? nullptr : SDL_GetDisplayName(display);
    return name != nullptr && *name != '\0' ? name : "screen";
}

bool StageWindow::is_seen() const {
    const char* driver = SDL_GetCurrentVideoDriver();
    const std::string_view name = driver == nullptr ? "" : driver;
    return !name.empty() && name != "dummy" && name != "offscreen";
}

std::string StageWindow::describe() const {
    const char* driver = SDL_GetCurrentVideoDriver();
    return std::string(driver != nullptr ? driver : "no driver") + ", " + inside_->renderer_name;
}

}  // namespace breakstep
