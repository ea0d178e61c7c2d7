// Finding, checking and watching rigs, and serving a simulated one.
#include <fmt/format.h>

#include <algorithm>
#include <atomic>
#include <iostream>
#include <thread>

#include "cli/listed_json.hpp"
#include "cli/session_setup.hpp"
#include "devices/serial/serial_port.hpp"
#include "devices/simulated/simulate_rig.hpp"
#include "hall/drivers/live_cues.hpp"
#include "hall/drivers/live_driver.hpp"
#include "hall/drivers/port_search.hpp"
#include "store/memory_journal.hpp"

namespace breakstep {
namespace {

// A slow adapter on a good computer needs eight seconds at most.
constexpr Duration clock_patience = 20s;
constexpr auto nap = std::chrono::milliseconds(10);

// Runs a driver without sessions until `over` says so or the rig fails.
Expected<void> watch_until(LiveDriver& driver, const std::function<bool()>& over) {
    driver.watch();
    while (!driver.finished() && !over()) std::this_thread::sleep_for(nap);
    driver.stop();
    while (!driver.finished()) std::this_thread::sleep_for(nap);
    return driver.outcome();
}

Expected<LiveSettings> live_settings(const RigOptions& options) {
    const auto settings = load_settings(options.common.settings);
    if (!settings) return tl::make_unexpected(settings.error());
    LiveSettings live{engine_settings(*settings, 1), options.port.empty() ? settings->rig_port : options.port};
    live.engine.link.pads_needed = 0;
    if (leads_to_pty(live.port)) live.engine.link.byte_time = Duration{};
    return live;
}

LiveCues no_cues() {
    LiveCues::Wanted nothing;
    nothing.sound = nothing.stage = false;
    return LiveCues(nothing);
}

void print_check(const RigCheck& check) {
    std::cout << fmt::format("rig {:016x} on {}\n", static_cast<std::uint64_t>(check.rig.board), check.port)
              << fmt::format("  ready after {:.0f} ms, clock good to {:.0f} us\n",
                             static_cast<double>(check.ready_after.count()) / 1e6,
                             static_cast<double>(check.bound.count()) / 1e3);
    for (const Channel& channel : check.rig.channels) {
        if (channel.kind == ChannelKind::pad)
            std::cout << fmt::format("  pad   {}\n", word(static_cast<PadRole>(channel.role)));
        if (channel.kind == ChannelKind::gate)
            std::cout << fmt::format(
                "  gate  {:<15}{}\n", word(static_cast<GateRole>(channel.role)),
                (check.rig.gates_broken >> channel.index & 1U) != 0 ? "blocked: clear its beam or align it" : "clear");
        if (channel.kind == ChannelKind::lamp)
            std::cout << fmt::format("  lamp  {}\n", word(static_cast<LampRole>(channel.role)));
        if (channel.kind == ChannelKind::sync) std::cout << "  sync input\n";
    }
    std::cout << "  line  " << line_summary({}, check.link) << '\n';
}

}  // namespace

int list_rigs(const RigOptions& options) {
    const auto ports = candidate_ports();
    if (!ports) return complain({ports.error().kind, ports.error().what, without_a_rig()});
    if (options.common.json) {
        std::cout << ports_json(*ports);
        return exit_done;
    }
    for (const PortInfo& port : *ports)
        std::cout << fmt::format("{:<16}{}{}\n", port.path, port.description,
                                 port.serial.empty() ? "" : " (" + port.serial + ")");
    // A built-in port hardly ever does 500,000 baud.
    const bool none =
        std::none_of(ports->begin(), ports->end(), [](const PortInfo& port) { return port.usb_vendor >= 0; });
    if (none) std::cerr << "breakstep: no USB port is here, so no rig is seen: " << without_a_rig() << '\n';
    return exit_done;
}

int check_rig(const RigOptions& options) {
    const auto live = live_settings(options);
    if (!live) return complain(live.error());
    MemoryJournal journal;
    LiveCues cues = no_cues();
    LiveDriver driver(*live, journal, cues, nullptr);
    RigCheck check;
    check.port = live->port;
    std::atomic<bool> counted{false};
    std::atomic<std::int64_t> ready_at{0}, connected_at{0};  // host time in ns; 0 before
    driver.on_notice = [](const std::string& text) { std::cerr << "breakstep: " << text << '\n'; };
    driver.on_ready = [&](const Engine& engine, Duration since) {
        check.ready_after = since;
        check.bound = engine.link().bound();
        check.rig = *engine.link().rig();
        driver.request(AskCounters{});
        ready_at = host_now().time_since_epoch().count();
    };
    driver.on_rig_answer = [&](const LinkEvent& answer) {
        if (std::holds_alternative<RigConnected>(answer)) connected_at = host_now().time_since_epoch().count();
        if (const auto* counters = std::get_if<RigCounters>(&answer)) {
            check.counters = *counters;
            counted = true;
        }
    };
    // A second of pings shows what the line is like; its own counters a rig may never tell.
    const auto outcome = watch_until(driver, [&] {
        const Duration now = host_now().time_since_epoch();
        if (ready_at == 0) return connected_at != 0 && now - Duration(connected_at) >= clock_patience;
        const Duration since = now - Duration(ready_at);
        return (counted && since >= 1s) || since >= 4s;
    });
    if (!outcome) return complain(outcome.error(), exit_no_rig);
    if (ready_at == 0 && connected_at != 0)
        return complain(
            {ErrorKind::device, "the rig answers, but its clock could not be told to half a millisecond in 20 s",
             "a loaded computer, a slow adapter or a hub does that: close other programs, try another socket"},
            exit_no_rig);
    if (ready_at == 0) return exit_failed;
    if (!counted)
        std::cerr
            << "breakstep: the rig did not tell its own counters; the line may lose what is asked, or its firmware "
               "does not count\n";
    check.link = driver.link_counters();
    if (check.port.empty()) check.port = driver.port_path();
    if (options.common.json)
        std::cout << rig_check_json(check);
    else
        print_check(check);
    return exit_done;
}

int watch_rig(const RigOptions& options) {
    const auto live = live_settings(options);
    if (!live) return complain(live.error());
    MemoryJournal journal;
    LiveCues cues = no_cues();
    LiveDriver driver(*live, journal, cues, nullptr);
    driver.on_notice = [](const std::string& text) { std::cerr << "breakstep: " << text << '\n'; };
    const bool json = options.common.json;
    driver.on_rig_answer = [json](const LinkEvent& event) {
        if (json) {
            if (const std::string line = rig_event_json(event); !line.empty()) std::cout << line << std::endl;
            return;
        }
        const auto seconds = [](TargetTime at) { return static_cast<double>(at.since_boot().count()) / 1e9; };
        if (const auto* hit = std::get_if<PadHit>(&event))
            std::cout << fmt::format("{:12.4f} s  strike on {}, peak {}\n", seconds(hit->at), word(hit->pad), hit->peak)
                      << std::flush;
        if (const auto* gate = std::get_if<GateEdge>(&event))
            std::cout << fmt::format("{:12.4f} s  gate {} {}\n", seconds(gate->at), word(gate->gate),
                                     gate->broken ? "broken" : "clear again")
                      << std::flush;
    };
    const auto begin = std::chrono::steady_clock::now();
    const std::chrono::duration<double> longest(options.seconds);
    const auto outcome =
        watch_until(driver, [&] { return options.seconds > 0 && std::chrono::steady_clock::now() - begin >= longest; });
    return outcome ? exit_done : complain(outcome.error(), exit_no_rig);
}

int simulate_rig(const SimulateRigArguments& given) {
    SimulateRigOptions options;
    options.seed = given.seed;
    options.drift_ppm = given.drift_ppm;
    options.damage = given.damage;
    const auto seconds = [](double value) { return Duration(static_cast<std::int64_t>(value * 1e9)); };
    if (given.reset_after_seconds > 0) options.reset_after = seconds(given.reset_after_seconds);
    if (given.minutes > 0) options.ends_after = seconds(60 * given.minutes);
    const std::string call_sign = given.athlete.empty() ? "Heron" : given.athlete;
    const auto profile = find_athlete(call_sign);
    if (!profile)
        return complain({ErrorKind::not_found, "there is no simulated athlete \"" + call_sign + "\"",
                         "see `drill --rig simulated --athlete` for their names"});
    options.athlete = AthleteSettings{*profile, {}, given.seed};
    const auto served = serve_simulated_rig(options, std::cout);
    return served ? exit_done : complain(served.error());
}

}  // namespace breakstep
