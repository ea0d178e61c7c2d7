#include <utility>  // Boost 1.74's Asio needs it first under C++20

#include <boost/asio/io_context.hpp>
#include <boost/asio/post.hpp>
#include <boost/asio/signal_set.hpp>
#include <boost/asio/steady_timer.hpp>

#include <algorithm>
#include <csignal>
#include <set>
#include <thread>

#include "devices/serial/serial_port.hpp"
#include "hall/drivers/live_driver.hpp"
#include "hall/drivers/port_search.hpp"

namespace breakstep {
namespace {

namespace asio = boost::asio;

// Sound and screen confirmations are asked for this often; commits are told at once by journal_moved().
constexpr Duration poll_period = 5ms;

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
    void look();
    void look_later();
    bool try_open(const std::string& path);
    void port_failed(const Error& why);
    void close_port();
    void rig_refused(const Error& why);
    void follow_line();
    void watch_mute_port(HostTime now);
    void write(const OutFrame& frame);
    void call(const EngineCall& engine_call) {
        core.call(engine_call, host_now());
        after_call();
    }
    void after_call();
    void step(HostTime now);
    void stop();
    void arm_due();
    void arm_poll();
    void next_session();
    void end(Expected<void> how);
    void notice(const std::string& text) {
        if (driver.on_notice) driver.on_notice(text);
    }
    void notice_once(const std::string& text) {
        if (search.first_time(text, host_now())) notice(text);
    }

    LiveDriver& driver;
    const LiveSettings settings;
    Journal& journal;
    DriverCore core;
    asio::io_context context{1};  // one thread runs it
    asio::executor_work_guard<asio::io_context::executor_type> work{context.get_executor()};
    asio::steady_timer due_timer{context}, poll_timer{context}, search_timer{context};
    asio::signal_set signals{context, SIGINT, SIGTERM};  ///< and SIGHUP, unless whoever began it (nohup) ignores it
    std::unique_ptr<SerialPort> port;
    std::uint64_t openings = 0;  ///< tells what an earlier port still had to say from what this one says
    PortSearch search{settings.port, settings.patience};
    bool looking = false;  ///< a look is due, or the timer for it runs
    bool answers = false;  ///< the link is connected
    bool away_told = false;
    LinkCounters counted_at_opening;
    HostTime began{}, silent_since{};
    std::set<std::string> slow_ports;
    bool ready_told = false, stopping = false, over = false, in_step = false;

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
    SerialCallbacks callbacks;
    callbacks.on_bytes = [this](HostTime arrived, std::span<const std::uint8_t> bytes) {
        core.call(BytesCall{arrived, std::string(reinterpret_cast<const char*>(bytes.data()), bytes.size())}, arrived);
        after_call();
    };
    callbacks.on_sent = [this](std::uint32_t frame, HostTime sent_at) { core.sent(FrameId{frame}, sent_at); };
    callbacks.on_closed = [this, opening = openings + 1](const Error& why) {
        asio::post(context, [this, opening, why] {
            if (opening == openings) port_failed(why);
        });
    };
    auto opened = SerialPort::open(context, path, search.claim(path), std::move(callbacks));
    if (!opened) {
        const Error& why = opened.error();
        search.refused(path, why, host_now());
        const bool known = path == search.last_path() || path == settings.port;
        if (known && search.answered_once() && why.kind != ErrorKind::not_found) notice_once(why.text());
        return false;
    }
    // A mute port is left only for one that is there: opening it anew would restart many boards for nothing.
    close_port();
    port = std::move(*opened);
    ++openings;
    search.opened(path);
    counted_at_opening = core.engine().link().counters();
    silent_since = host_now();
    if (port->slow_latency_timer() && slow_ports.insert(path).second)
        notice("the adapter on " + path +
               " hands bytes over only every 16 ms: times are less certain; "
               "install config/99-breakstep.rules to mend that");
    call(PortCall{true, silent_since});
    return true;
}

void LiveDriver::State::close_port() {
    if (!port) return;
    port.reset();
    call(PortCall{false, host_now()});
}

void LiveDriver::State::port_failed(const Error& why) {
    if (over || !port) return;
    search.ended();
    notice_once(why.text());
    away_told = search.answered_once();
    close_port();
    look_later();
}

void LiveDriver::State::rig_refused(const Error& why) {
    if (over || !port) return;
    if (!settings.port.empty() && !search.answered_once()) return end(tl::make_unexpected(why));
    search.refused(search.last_path(), why, host_now());
    notice_once(why.text());
    close_port();
    look_later();
}

void LiveDriver::State::look() {
    looking = false;
    if (over || (port && answers)) return;
    while (const auto path = search.next(port ? port->path() : ""))
        if (try_open(*path)) return;
    if (const auto why = search.given_up(host_now())) return end(tl::make_unexpected(*why));
    if (!port && !search.answered_once() && !settings.port.empty())
        notice_once("waiting for the rig on " + settings.port);
    look_later();
}

void LiveDriver::State::look_later() {
    looking = true;
    search_timer.expires_after(search.pause(host_now()));
    search_timer.async_wait([this](boost::system::error_code error) {
        if (!error) look();
    });
}

// The rig answers, or does so no more.
void LiveDriver::State::follow_line() {
    const bool now_answers = core.engine().link().connected();
    if (now_answers == answers) return;
    answers = now_answers;
    silent_since = host_now();
    if (!answers) return search.lost(silent_since);
    if (away_told) notice_once("the rig is back on " + search.last_path());
    away_told = false;
    search.answered(silent_since);
}

// On a port that is open nothing answers, for the first time or no more: it stays open, and other ports are looked at.
void LiveDriver::State::watch_mute_port(HostTime now) {
    if (!port || answers || looking || now - silent_since <= std::min(settings.patience, PortSearch::answer_patience))
        return;
    const LinkCounters& counted = core.engine().link().counters();
    search.mute(search.last_path(), counted.damaged_bytes - counted_at_opening.damaged_bytes,
                counted.bytes - counted_at_opening.bytes);
    look();
}

void LiveDriver::State::after_call() {
    if (over) return;
    const Engine& engine = core.engine();
    follow_line();
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
    step(host_now());
    arm_due();
}

// What an evening makes of it may be calls of its own.
void LiveDriver::State::step(HostTime now) {
    if (!driver.on_step || over || in_step) return;
    in_step = true;
    driver.on_step(now);
    in_step = false;
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
        watch_mute_port(now);
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
    search.begin(began);
    core.on_result = [this, before = core.on_result](const ScoreResult& result) {
        if (before) before(result);
        if (driver.on_result) driver.on_result(result);
    };
    core.on_rig_answer = [this, before = core.on_rig_answer](const LinkEvent& answer) {
        if (before) before(answer);
        if (const auto* refused = std::get_if<RigRefused>(&answer)) {
            asio::post(context, [this, why = refused->error, opening = openings] {
                if (opening == openings) rig_refused(why);
            });
        }
        if (driver.on_rig_answer) driver.on_rig_answer(answer);
    };
    core.on_health = [this](const HealthNotice& seen) {
        // That a port is gone is said with its reason, and where the rig is back, by this driver itself.
        if (seen.about == HealthNotice::About::end) return;  // whoever ran the session says it
        if ((seen.about == HealthNotice::About::back && away_told) ||
            (seen.about == HealthNotice::About::away && !port))
            return;
        if (seen.about == HealthNotice::About::away) away_told = true;
        notice_once(seen.what + "; " + seen.to_do);
    };
    core.on_refusal = [this](const std::string& why) { notice("not taken: " + why); };
    core.on_test_sound = driver.on_test_sound;
    core.on_flash = driver.on_flash;
    core.on_journal_trouble = [this](const std::optional<Error>& trouble) {
        notice(trouble ? trouble->text() + " (the drill waits; nothing recorded is lost)"
                       : "writing again: the drill goes on");
    };
    // A terminal that is closed ends the session as one asks for it, so that it is kept as stopped.
    struct sigaction on_hangup {};
    if (sigaction(SIGHUP, nullptr, &on_hangup) == 0 && on_hangup.sa_handler != SIG_IGN) signals.add(SIGHUP);
    signals.async_wait([this](boost::system::error_code error, int) {
        if (!error) driver.stop();
    });
    if (driver.on_begin) driver.on_begin(began);
    look();
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

LiveDriver::~LiveDriver() { join(); }

HostTime LiveDriver::now() const { return host_now(); }

void LiveDriver::join() {
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

DriverCore& LiveDriver::core() { return state_->core; }

LinkCounters LiveDriver::link_counters() const { return state_->core.engine().link().counters(); }

const std::vector<HealthNotice>& LiveDriver::health_notices() const { return state_->core.health_notices(); }

std::string LiveDriver::line_health() const { return state_->core.line_health(); }

std::string LiveDriver::port_path() const { return state_->search.last_path(); }

void LiveDriver::request(const EngineInput& input) {
    asio::post(state_->context, [this, input] { state_->call(InputCall{input, host_now()}); });
}

void LiveDriver::State::stop() {
    if (driver.on_stop) return driver.on_stop(host_now());
    stopping = true;
    if (session_runs)
        call(InputCall{Coach{{CoachAct::stop, 0}}, host_now()});
    else if (!waits_for_commit)
        end({});
}

void LiveDriver::stop() {
    asio::post(state_->context, [this] { state_->stop(); });
}

void LiveDriver::post(std::function<void(HostTime)> work) {
    asio::post(state_->context, [this, work = std::move(work)] {
        if (state_->over) return;
        work(host_now());
        state_->after_call();
    });
}

void LiveDriver::finish() { state_->end({}); }

void LiveDriver::journal_moved() {
    asio::post(state_->context, [this] {
        if (state_->over) return;
        state_->core.poll(host_now());
        state_->after_call();
    });
}

}  // namespace breakstep
