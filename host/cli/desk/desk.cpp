// `desk`: the coach's pages without an evening, until it is told to end.
#include "cli/desk/desk.hpp"

#include <pthread.h>
#include <unistd.h>

#include <csignal>
#include <ctime>
#include <iostream>
#include <mutex>

#include "cli/evening/terminal_keys.hpp"
#include "cli/session_setup.hpp"
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

    [[nodiscard]] bool within_a_moment() const {
        constexpr timespec moment{0, 50'000'000};
        return sigtimedwait(&ends_, nullptr, &moment) > 0;
    }

  private:
    sigset_t ends_{}, before_{};
};

}  // namespace

int run_desk(const CommonOptions& options, const DeskOptions& wanted) {
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
    const Ends ends;
    TerminalKeys keys;
    std::mutex said;
    const auto say = [&said](const std::string& line) {
        const std::lock_guard lock(said);
        std::cout << line << std::endl;
    };
    auto opened = desk::DeskServer::open(house_without_evening(options, *settings), server);
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
    }
    opened->reset();
    return exit_done;
}

}  // namespace breakstep
