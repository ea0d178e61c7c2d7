#include <chrono>
#include <iostream>
#include <mutex>
#include <thread>

#include "cli/live_window.hpp"
#include "cli/session_setup.hpp"
#include "club/results/turn_line.hpp"
#include "devices/serial/serial_port.hpp"
#include "devices/simulated/simulate_rig.hpp"
#include "hall/drivers/live_cues.hpp"
#include "hall/drivers/live_driver.hpp"

namespace breakstep {
namespace {

void tell_progress(LiveDriver& driver, bool json) {
    driver.on_notice = [](const std::string& text) { std::cerr << "breakstep: " << shown_text(text) << '\n'; };
    driver.on_ready = [](const Engine& engine, Duration since) {
        std::cerr << "rig ready after " << std::chrono::duration_cast<std::chrono::milliseconds>(since).count()
                  << " ms, clock good to "
                  << std::chrono::duration_cast<std::chrono::microseconds>(engine.link().bound()).count() << " us\n";
    };
    if (json) return;
    driver.on_result = [last = std::string()](const ScoreResult& result) mutable {
        if (const auto* rep = std::get_if<RepResult>(&result)) {
            // What is put right later is told again only if it reads otherwise.
            const std::string line = rep_line(*rep);
            if (line != last) std::cerr << line << '\n';
            last = line;
        }
        if (const auto* sign = std::get_if<SignRaised>(&result))
            std::cerr << "       " << word(sign->kind) << ": " << word(sign->sign) << " (" << sign->reason << ")\n";
    };
}

LiveRun failed(Error error, ExitCode code) { return {tl::make_unexpected(std::move(error)), code}; }

ExitCode code_of_rig_error(const Error& error) {
    return error.kind == ErrorKind::bad_input ? exit_bad_input : exit_no_rig;
}

ExitCode code_of_capture_error(const Error& error) {
    return error.kind == ErrorKind::bad_input || error.kind == ErrorKind::not_found ? exit_bad_input : exit_failed;
}

}  // namespace

LiveRun run_live(const std::vector<PlannedSession>& sessions, const CommonOptions& options, const Settings& settings,
                 std::uint64_t seed, const std::string& port) {
    // The store's hint needs the driver, and the driver needs the store.
    std::mutex driver_lock;
    LiveDriver* hinted = nullptr;
    auto store = open_store(options, settings, StoreMode::own_thread, [&] {
        const std::lock_guard lock(driver_lock);
        if (hinted != nullptr) hinted->journal_moved();
    });
    if (!store) return failed(store.error(), exit_not_kept);

    std::optional<SimulatedRig> rig;
    LiveSettings live{engine_settings(settings, seed), port.empty() ? settings.rig_port : port};
    if (port == "simulated") {
        SimulateRigOptions simulated;
        simulated.seed = seed;
        for (const PlannedSession& planned : sessions)
            simulated.partner = simulated.partner || planned.simulated_partner.has_value();
        auto opened = SimulatedRig::open(simulated);
        if (!opened) return failed(opened.error(), exit_failed);
        rig.emplace(std::move(*opened));
        live.port = rig->path();
    }
    // A pty has no wire: its bytes take no time.
    if (leads_to_pty(live.port)) live.engine.link.byte_time = Duration{};

    LiveCues cues(wanted_cues(options, settings));
    for (const std::string& missing : cues.missing()) std::cerr << "breakstep: " << missing << '\n';
    live.engine.devices.sound = cues.has_sound();
    live.engine.devices.words = cues.words();
    live.engine.devices.screen = cues.window() != nullptr;
    use_calibrations(**store, cues.sound_name(), cues.screen_name(), live.engine);
    std::optional<CaptureWriter> capture;
    if (!options.capture.empty()) {
        note_capture(**store, options);
        auto created = CaptureWriter::create(options.capture, live.engine);
        if (!created) return failed(created.error(), code_of_capture_error(created.error()));
        capture.emplace(std::move(*created));
    }

    // A lift that nothing but a lean announces can't be met by lamps alone. A simulated athlete sees the screen that
    // nobody opened.
    for (const PlannedSession& planned : sessions)
        if (needs_a_screen(planned.began.drill) && cues.window() == nullptr && !rig)
            return failed({ErrorKind::bad_input,
                           "the lift of " + planned.began.drill.name +
                               " can't be met by lamps alone: they have no lean, and no reaction is quick enough",
                           "run it with a screen, or take lift-of-a-pattern or lift-drawn"},
                          exit_bad_input);

    std::vector<SessionResults> results;
    std::optional<LiveDriver> driver(std::in_place, live, **store, cues, capture ? &*capture : nullptr);
    tell_progress(*driver, options.json);
    constexpr Duration summary_stands = 5s, verdict_shown = 1s;
    StandingSummary standing(summary_stands);
    driver->core().on_view = [&rig, &standing](StageView& view) {
        standing.show(view, host_now());
        if (rig)
            rig->post([leans = leans_on_screen(view), follows = view.lure && view.lure->follows](
                          SimulatedTarget& target, HostTime now) {
                target.screen_leans(now, leans);
                target.screen_follows(now, follows);
            });
    };
    driver->core().on_partner_cue = [&rig](const PartnerCue& cue) {
        if (rig)
            rig->post([what = cue.what](SimulatedTarget& target, HostTime now) { target.tell_partner(now, what); });
    };
    driver->on_poll = [&](HostTime now) {
        if (const auto task = standing.due(now)) cues.show(*task);
    };
    driver->on_session_end = [&](const LiveDriver::Session& session, const Engine& engine) {
        for (const PlannedSession& planned : sessions)
            if (planned.began.session == session.began.session) {
                results.push_back(results_of(planned, *engine.score(), engine.conduct()->how_it_ended()));
                for (const HealthNotice& notice : driver->health_notices())
                    results.back().notices.push_back(notice.what + ": " + notice.to_do);
                results.back().line = driver->line_health();
                if (!options.json) std::cerr << shown_text(line_for_coach(results.back())) << '\n';
            }
    };
    std::vector<LiveDriver::Session> wanted;
    for (const PlannedSession& planned : sessions) {
        LiveDriver::Session session{planned.began, planned.names, {}};
        if (rig && planned.simulated)
            session.before = [&rig, athlete = *planned.simulated, partner = planned.simulated_partner] {
                rig->set_athlete(athlete);
                rig->post([partner](SimulatedTarget& target, HostTime now) { target.set_partner(now, partner); });
            };
        wanted.push_back(std::move(session));
    }
    {
        const std::lock_guard lock(driver_lock);
        hinted = &*driver;
    }
    driver->start(std::move(wanted));
    serve_window(cues, *driver, [&driver] { return driver->finished(); });
    // The last word and the summary are there to be read; after a stop nobody waits.
    if (driver->outcome() && !results.empty() && results.back().how == SessionEnd::finished)
        linger(cues, summary_stands + verdict_shown);
    {
        const std::lock_guard lock(driver_lock);
        hinted = nullptr;
    }
    const Expected<void> outcome = driver->outcome();
    driver.reset();
    if (capture)
        if (auto closed = capture->close(); !closed) return failed(closed.error(), exit_failed);
    if (auto closed = (*store)->close(); !closed) return failed(closed.error(), exit_not_kept);
    if (!outcome) return failed(outcome.error(), code_of_rig_error(outcome.error()));
    return {std::move(results), exit_done};
}

}  // namespace breakstep
