#include <utility>  // Boost 1.74's Asio needs it first under C++20

#include <boost/asio/io_context.hpp>
#include <boost/asio/post.hpp>
#include <boost/asio/signal_set.hpp>
#include <boost/asio/steady_timer.hpp>

#include <algorithm>
#include <csignal>
#include <deque>
#include <filesystem>
#include <set>
#include <system_error>
#include <thread>

#include "app/drivers/live_driver.hpp"
#include "devices/serial/serial_port.hpp"

namespace breakstep {
namespace {

namespace asio = boost::asio;

// Sound and screen confirmations are asked for this often; commits are told at once by journal_moved().
constexpr Duration poll_period = 5ms;
// Between two looks for a rig that is not there.
constexpr Duration search_period = 250ms;
// A candidate port that says nothing for so long has no rig on it (a board that resets when opened may take 2 s).
constexpr Duration candidate_patience = 3s;

// A pseudo-terminal whose far side closed is over for good: its number may next be anybody's terminal, which is not
// ours to open.
std::string real_path(const std::string& path) {
    std::error_code missing;
    const std::filesystem::path real = std::filesystem::canonical(path, missing);
    return missing ? path : real.string();
}

asio::steady_timer::time_point on_asio(HostTime time) {
    return asio::steady_timer::time_point(
        std::chrono::duration_cast<asio::steady_timer::duration>(time.time_since_epoch()));
}

}  // namespace

struct LiveDriver::State {
    State(LiveDriver& owner, const LiveSettings& wanted, Journal& to_journal, CueOutput& cues, CaptureWriter* capture)
        : driver(owner),
          settings(wanted),
          journal(to_journal),
          core(wanted.engine, to_journal, cues, capture, [this](const OutFrame& frame) { write(frame); }) {}

    void run();
    void search();
    bool try_open(const std::string& path);
    void port_failed(const Error& why);
    void write(const OutFrame& frame);
    void call(const EngineCall& engine_call) {
        core.call(engine_call, host_now());
        after_call();
    }
    void after_call();
    void arm_due();
    void arm_poll();
    void next_session();
    void end(Expected<void> how);
    void notice(const std::string& text) {
        if (driver.on_notice) driver.on_notice(text);
    }

    LiveDriver& driver;
    const LiveSettings settings;
    Journal& journal;
    DriverCore core;
    asio::io_context context{1};  // one thread runs it
    asio::executor_work_guard<asio::io_context::executor_type> work{context.get_executor()};
    asio::steady_timer due_timer{context}, poll_timer{context}, search_timer{context};
    asio::signal_set signals{context, SIGINT, SIGTERM};
    std::unique_ptr<SerialPort> port;
    std::string last_path, last_real_path;
    std::set<std::string> ended_terminals;
    HostTime began{}, opened_at{}, last_heard{};
    std::deque<std::string> candidates;
    std::optional<Error> last_refusal;
    std::optional<BoardId> board;
    bool ready_told = false, was_connected = false, stopping = false, over = false;

    std::vector<Session> sessions;
    std::size_t at = 0;
    bool session_runs = false, waits_for_commit = false;
    std::optional<HostTime> armed_for;
    Expected<void> outcome;
    std::thread thread;
};

void LiveDriver::State::write(const OutFrame& frame) {
    if (port) port->write(static_cast<std::uint32_t>(frame.id), {frame.bytes.data(), frame.size});
}

bool LiveDriver::State::try_open(const std::string& path) {
    const std::string real = real_path(path);
    if (ended_terminals.contains(real)) {
        last_refusal = Error{ErrorKind::not_found, "the rig on " + path + " has ended", "start it again"};
        return false;
    }
    SerialCallbacks callbacks;
    callbacks.on_bytes = [this](HostTime arrived, std::span<const std::uint8_t> bytes) {
        last_heard = arrived;
        core.call(BytesCall{arrived, std::string(reinterpret_cast<const char*>(bytes.data()), bytes.size())}, arrived);
        after_call();
    };
    callbacks.on_sent = [this](std::uint32_t frame, HostTime sent_at) { core.sent(FrameId{frame}, sent_at); };
    callbacks.on_closed = [this](const Error& why) { asio::post(context, [this, why] { port_failed(why); }); };
    auto opened = SerialPort::open(context, path, std::move(callbacks));
    if (!opened) {
        last_refusal = opened.error();
        return false;
    }
    port = std::move(*opened);
    last_path = path;
    last_real_path = real;
    opened_at = last_heard = host_now();
    if (port->slow_latency_timer())
        notice("the adapter on " + path +
               " hands bytes over only every 16 ms: times are less certain; "
               "install config/99-breakstep.rules to mend that");
    call(PortCall{true, opened_at});
    return true;
}

void LiveDriver::State::port_failed(const Error& why) {
    if (over || !port) return;
    if (port->is_pty()) ended_terminals.insert(last_real_path);
    port.reset();
    notice(why.text());
    call(PortCall{false, host_now()});
    search();
}

void LiveDriver::State::search() {
    if (over || port) return;
    // The name it had last comes first; a rig that returns under another name is known by its own identity.
    if (candidates.empty()) {
        if (!last_path.empty()) candidates.push_back(last_path);
        if (!settings.port.empty() && settings.port != last_path) candidates.push_back(settings.port);
        if (settings.port.empty() || was_connected)
            if (const auto ports = candidate_ports())
                for (const PortInfo& each : *ports)
                    if (each.path != last_path) candidates.push_back(each.path);
    }
    while (!candidates.empty() && !port) {
        const std::string path = candidates.front();
        candidates.pop_front();
        if (try_open(path)) return;
    }
    const bool named = !settings.port.empty() && !was_connected;
    if (named && last_refusal && last_refusal->kind != ErrorKind::not_found)
        return end(tl::make_unexpected(*last_refusal));
    if (!was_connected && host_now() - began > settings.patience)
        return end(tl::make_unexpected(last_refusal.value_or(
            Error{ErrorKind::not_found, "no rig was found", "plug it in, or name its port with --rig PORT"})));
    if (named && last_refusal) return end(tl::make_unexpected(*last_refusal));
    search_timer.expires_after(search_period);
    search_timer.async_wait([this](boost::system::error_code error) {
        if (!error) search();
    });
}

void LiveDriver::State::after_call() {
    if (over) return;
    const Engine& engine = core.engine();
    if (engine.link().connected() && !was_connected) was_connected = true;
    const Uncertainty bound = engine.link().bound();
    if (!ready_told && bound != unknown_uncertainty && bound < settings.engine.link.cue_bound) {
        ready_told = true;
        if (driver.on_ready) driver.on_ready(engine, host_now() - began);
    }
    if (session_runs && core.session_end()) {
        session_runs = false;
        waits_for_commit = true;
        if (driver.on_session_end) driver.on_session_end(sessions[at], engine);
    }
    arm_due();
}

void LiveDriver::State::arm_due() {
    const auto due = core.engine().next_due();
    if (due == armed_for) return;
    armed_for = due;
    if (!due) {
        due_timer.cancel();
        return;
    }
    due_timer.expires_at(on_asio(*due));
    due_timer.async_wait([this](boost::system::error_code error) {
        if (error) return;
        armed_for.reset();
        call(DueCall{host_now()});
    });
}

void LiveDriver::State::arm_poll() {
    poll_timer.expires_after(poll_period);
    poll_timer.async_wait([this](boost::system::error_code error) {
        if (error || over) return;
        const HostTime now = host_now();
        core.poll(now);
        after_call();
        if (driver.on_poll) driver.on_poll(now);
        const bool all_saved = !waits_for_commit || core.all_committed() || journal.failure();
        if (waits_for_commit && all_saved) {
            waits_for_commit = false;
            ++at;
            next_session();
        }
        // A candidate that never answered, or a named port that does not: say so, and look further.
        if (port && !was_connected && now - opened_at > std::min(settings.patience, candidate_patience)) {
            last_refusal = Error{ErrorKind::device, "nothing on " + last_path + " answers as a rig",
                                 "is it the right port, and is the rig powered? `breakstep rigs list` shows the ports"};
            if (!settings.port.empty()) return end(tl::make_unexpected(*last_refusal));
            port.reset();
            call(PortCall{false, now});
            search();
        }
        if (!over) arm_poll();
    });
}

void LiveDriver::State::next_session() {
    if (stopping || at >= sessions.size()) {
        if (!sessions.empty() || stopping) end({});
        return;
    }
    Session& session = sessions[at];
    if (session.before) session.before();
    session_runs = true;
    core.start(session.began, session.names, host_now());
    after_call();
}

void LiveDriver::State::end(Expected<void> how) {
    if (over) return;
    over = true;
    outcome = std::move(how);
    if (!outcome && session_runs) call(InputCall{Coach{{CoachAct::stop, 0}}, host_now()});
    work.reset();
    context.stop();
}

void LiveDriver::State::run() {
    began = host_now();
    core.on_result = driver.on_result;
    core.on_rig_answer = [this](const LinkEvent& answer) {
        if (const auto* refused = std::get_if<RigRefused>(&answer)) {
            const Error why = refused->error;
            asio::post(context, [this, why] {
                last_refusal = why;
                if (!settings.port.empty()) return end(tl::make_unexpected(why));
                notice(why.text());
                port.reset();
                call(PortCall{false, host_now()});
                search();
            });
        }
        if (driver.on_rig_answer) driver.on_rig_answer(answer);
    };
    core.on_health = [this](const HealthNotice& seen) { notice(seen.what + "; " + seen.to_do); };
    core.on_test_sound = driver.on_test_sound;
    core.on_flash = driver.on_flash;
    core.on_journal_trouble = [this](const std::optional<Error>& trouble) {
        notice(trouble ? trouble->text() + " (the drill waits; nothing recorded is lost)"
                       : "writing again: the drill goes on");
    };
    signals.async_wait([this](boost::system::error_code error, int) {
        if (!error) driver.stop();
    });
    search();
    if (!over) {
        if (!sessions.empty()) next_session();
        arm_poll();
        context.run();
    }
    port.reset();
    driver.finished_.store(true, std::memory_order_release);
}

LiveDriver::LiveDriver(const LiveSettings& settings, Journal& journal, CueOutput& cues, CaptureWriter* capture)
    : state_(std::make_unique<State>(*this, settings, journal, cues, capture)) {}

LiveDriver::~LiveDriver() {
    if (state_->thread.joinable()) {
        asio::post(state_->context, [this] { state_->end({}); });
        state_->thread.join();
    }
}

void LiveDriver::start(std::vector<Session> sessions) {
    state_->sessions = std::move(sessions);
    state_->thread = std::thread([this] { state_->run(); });
}

void LiveDriver::watch() {
    state_->thread = std::thread([this] { state_->run(); });
}

Expected<void> LiveDriver::outcome() const { return state_->outcome; }

LinkCounters LiveDriver::link_counters() const { return state_->core.engine().link().counters(); }

const std::vector<HealthNotice>& LiveDriver::health_notices() const { return state_->core.health_notices(); }

std::string LiveDriver::line_health() const { return state_->core.line_health(); }

std::string LiveDriver::port_path() const { return state_->last_path; }

void LiveDriver::request(const EngineInput& input) {
    asio::post(state_->context, [this, input] { state_->call(InputCall{input, host_now()}); });
}

void LiveDriver::stop() {
    asio::post(state_->context, [this] {
        state_->stopping = true;
        if (state_->session_runs)
            state_->call(InputCall{Coach{{CoachAct::stop, 0}}, host_now()});
        else if (!state_->waits_for_commit)
            state_->end({});
    });
}

void LiveDriver::journal_moved() {
    asio::post(state_->context, [this] {
        if (state_->over) return;
        state_->core.poll(host_now());
        state_->after_call();
    });
}

}  // namespace breakstep
