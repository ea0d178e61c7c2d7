// `desk`: the coach's pages without an evening, until it is told to end.
#include "cli/desk/desk.hpp"

#include <pthread.h>
#include <unistd.h>

#include <atomic>
#include <csignal>
#include <ctime>
#include <iostream>
#include <mutex>
#include <utility>

#include "cli/evening/terminal_keys.hpp"
#include "cli/session_setup.hpp"
#include "cli/trust/calibrate.hpp"
#include "core/error.hpp"

namespace breakstep {
namespace {

/// Interrupt and terminate, waited for instead of dying of them: blocked in every thread that begins after this.
class Ends {
  public:
    Ends() {
        sigemptyset(&ends_);
        sigaddset(&ends_, SIGINT);
        sigaddset(&ends_, SIGTERM);
        sigaddset(&ends_, SIGHUP);
        pthread_sigmask(SIG_BLOCK, &ends_, &before_);
    }
    ~Ends() { pthread_sigmask(SIG_SETMASK, &before_, nullptr); }
    Ends(const Ends&) = delete;
    Ends& operator=(const Ends&) = delete;

    [[nodiscard]] bool within_a_moment() { return within({0, 50'000'000}); }
    [[nodiscard]] bool now() { return within({0, 0}); }

  private:
    bool within(const timespec& moment) {
        came_ = came_ || sigtimedwait(&ends_, nullptr, &moment) > 0;
        return came_;
    }

    sigset_t ends_{}, before_{};
    bool came_ = false;  ///< it is told once, and holds
};

// The questions of `rigs calibrate`, for the terminal and the phone: this thread's, since it may open a window.
void calibrate(const RigOptions& rig, desk::Questions& questions, Ends& ends) {
    const auto ask = [&questions] {
        desk::Questions::Seen shown;
        shown.title = "Calibration: do what is asked";
        shown.choices = {{"stop", "Stop", "thresholds set so far stay in the rig"}};
        shown.go = "Leave this one out";
        questions.ask(std::move(shown));
    };
    bool skips = false, stops = false;
    CalibrationHand hand;
    hand.say = [&questions](const std::string& line) { questions.say(line); };
    const auto look = [&] {
        const auto line = questions.take();
        if (!line) return;
        (*line == "stop" ? stops : skips) = true;
        ask();
    };
    hand.skips = [&] {
        look();
        return std::exchange(skips, false);
    };
    hand.ends = [&] { return stops || ends.now(); };
    questions.say("Looking for the rig.");
    ask();
    const int code = calibrate_rig(rig, hand);
    questions.wait(code == exit_done ? "Calibration: done" : "Calibration: it did not come to its end");
}

}  // namespace

int run_desk(const RigOptions& rig, const DeskOptions& wanted) {
    const CommonOptions& options = rig.common;
    const auto settings = load_settings(options.settings);
    if (!settings) return complain(settings.error());
    // A store that was named is read from the beginning: a slip of the pen would show a club without athletes.
    if (options.store) {
        const auto store = open_store(options, *settings, StoreMode::read_only);
        if (!store) return complain_of_store(store.error());
        if (const auto closed = (*store)->close(); !closed) return complain_of_store(closed.error());
    }
    desk::ServerOptions server;
    server.port = wanted.port;
    server.hall = wanted.hall;
    server.folder = desk_folder(store_path(options, *settings));
    Ends ends;
    TerminalKeys keys;
    std::mutex said;
    const auto say = [&said](const std::string& line) {
        const std::lock_guard lock(said);
        std::cout << line << std::endl;
    };
    desk::Questions questions;
    std::atomic<bool> calibrates{false};
    desk::DeskHouse house = house_without_evening(options, *settings);
    house.questions = &questions;
    house.calibrate = [&calibrates] {
        return std::string(calibrates.exchange(true) ? "it runs already" : "it begins");
    };
    auto opened = desk::DeskServer::open(std::move(house), server);
    if (!opened) return complain(opened.error(), exit_failed);
    (*opened)->on_notice = say;
    (*opened)->start();
    const bool qr = wanted.hall && ::isatty(STDOUT_FILENO) == 1;
    (*opened)->new_digits(say, qr);
    if (keys.is_terminal()) say("Keys: q digits for another phone  Escape end");
    constexpr char escape = 27;
    for (;;) {
        if (ends.within_a_moment()) break;
        bool over = false;
        while (const auto key = keys.next()) {
            if (*key == 'q') (*opened)->new_digits(say, qr);
            over = over || *key == escape;
        }
        if (over) break;
        if (calibrates) {
            calibrate(rig, questions, ends);
            calibrates = false;
        }
    }
    opened->reset();
    return exit_done;
}

}  // namespace breakstep
