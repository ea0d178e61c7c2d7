// `tap`: the space bar at each entry. The terminal is set to give single keys (termios, non-canonical) and set back
// however the command ends; Ctrl-C ends it like q, since the terminal hands it over as a key.
#include <poll.h>
#include <termios.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <chrono>
#include <ostream>
#include <string>
#include <vector>

#include "cli/timeable/options.hpp"
#include "cli/timeable/timeable.hpp"
#include "core/error.hpp"
#include "core/reading/seconds.hpp"
#include "core/reading/words.hpp"
#include "files/new_file.hpp"

namespace breakstep {
namespace timeable {
namespace {

/// Keys one by one, without echo, for as long as it lives.
class SingleKeys {
  public:
    SingleKeys() {
        good_ = tcgetattr(STDIN_FILENO, &before_) == 0;
        if (!good_) return;
        termios now = before_;
        now.c_lflag &= ~static_cast<tcflag_t>(ICANON | ECHO | ISIG);
        now.c_cc[VMIN] = 1;
        now.c_cc[VTIME] = 0;
        good_ = tcsetattr(STDIN_FILENO, TCSAFLUSH, &now) == 0;
    }
    ~SingleKeys() {
        if (good_) tcsetattr(STDIN_FILENO, TCSAFLUSH, &before_);
    }
    SingleKeys(const SingleKeys&) = delete;
    SingleKeys& operator=(const SingleKeys&) = delete;
    [[nodiscard]] bool good() const { return good_; }

  private:
    termios before_{};
    bool good_ = false;
};

/// A key, or 0 at the end of input.
char next_key() {
    for (;;) {
        char key = 0;
        const ssize_t count = read(STDIN_FILENO, &key, 1);
        if (count == 1) return key;
        if (count < 0 && errno == EINTR) continue;
        return 0;
    }
}

/// An arrow or function key sends Escape and more: that is not the Escape key.
bool alone() {
    pollfd waiting{STDIN_FILENO, POLLIN, 0};
    return poll(&waiting, 1, 20) <= 0;
}

/// Reads and drops the rest of such a key.
void drop_sequence() {
    for (pollfd waiting{STDIN_FILENO, POLLIN, 0}; poll(&waiting, 1, 0) > 0;)
        if (next_key() == 0) return;
}

struct Taps {
    std::vector<Duration> moments;  // since the first
    std::uint64_t too_fast = 0;
};

Taps take_taps(std::ostream& err) {
    using Clock = std::chrono::steady_clock;
    // A key that is held down repeats about 30 times a second; nobody enters so often.
    constexpr Duration repeat = 60ms;
    constexpr char control_c = 3, control_d = 4, escape = 27, backspace = 8, erase = 127;
    Taps taps;
    Clock::time_point first;
    Clock::time_point last;
    for (;;) {
        const char key = next_key();
        const auto now = Clock::now();
        if (key == 0 || key == 'q' || key == 'Q' || key == control_c || key == control_d) break;
        if (key == escape) {
            if (alone()) break;
            drop_sequence();
            continue;
        }
        if ((key == backspace || key == erase) && !taps.moments.empty()) {
            taps.moments.pop_back();
            err << "\rtaken back: " << taps.moments.size() << " left   " << std::flush;
            continue;
        }
        if (key != ' ' && key != '\r' && key != '\n') continue;
        if (!taps.moments.empty() && now - last < repeat) {
            ++taps.too_fast;
            last = now;
            continue;
        }
        if (taps.moments.empty()) first = now;
        last = now;
        taps.moments.push_back(std::chrono::duration_cast<Duration>(now - first));
        err << "\r" << taps.moments.size() << " step-ins   " << std::flush;
    }
    err << '\n';
    return taps;
}

void write_list(std::ostream& out, const Taps& taps) {
    out << "time_s\n";
    for (const Duration moment : taps.moments) out << reading::decimals(reading::seconds_from(moment), 4) << '\n';
    out.flush();
}

}  // namespace
}  // namespace timeable

int run_tap(std::span<const std::string> arguments, std::ostream& out, std::ostream& err) {
    using namespace timeable;
    int exit_code = 0;
    const auto options = parse_tap(arguments, out, err, exit_code);
    if (!options) return exit_code;
    if (isatty(STDIN_FILENO) == 0) {
        err << "breakstep tap: standard input is not a terminal, so there is no space bar to tap; run it in a terminal "
               "window, or write the times into a file with the header time_s\n";
        return 2;
    }
    if (!options->file.empty() && files::is_taken(options->file)) {
        err << "breakstep tap: " << shown_text(options->file) << " is there already; name a new file\n";
        return 2;
    }
    Taps taps;
    {
        const SingleKeys keys;
        if (!keys.good()) {
            err << "breakstep tap: the terminal gives no single keys; try another terminal window\n";
            return 1;
        }
        err << "Space at each step-in, Backspace takes one back, q when done.\n";
        taps = take_taps(err);
    }
    Expected<void> written;
    if (options->file.empty()) {
        write_list(out, taps);
        if (!out) written = failure(ErrorKind::system, "the list could not be written", "is the disk full?");
    } else {
        written = files::write_streamed(options->file, files::Existing::refuse, [&](std::ostream& list) {
            write_list(list, taps);
            return Expected<void>{};
        });
    }
    if (!written) {
        err << "breakstep tap: " << written.error().text() << '\n';
        // What was tapped is not lost with the file.
        if (!options->file.empty()) write_list(out, taps);
        return 1;
    }
    if (taps.too_fast > 0)
        err << taps.too_fast << " keys within 60 ms of the one before were left out: a key held down repeats.\n";
    if (taps.moments.size() < 2)
        err << "An interval needs two step-ins.\n";
    else if (!options->file.empty())
        err << "Now: breakstep timeable " << options->file << '\n';
    return 0;
}

}  // namespace breakstep
