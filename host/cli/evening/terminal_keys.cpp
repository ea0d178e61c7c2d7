#include "cli/evening/terminal_keys.hpp"

#include <poll.h>
#include <unistd.h>

#include <cerrno>

namespace breakstep {
namespace {

constexpr char escape = 27;
// What a key sends after its Escape comes in one piece.
constexpr int sequence_ms = 20;

std::optional<char> read_byte() {
    char byte = 0;
    for (;;) {
        const ssize_t count = ::read(STDIN_FILENO, &byte, 1);
        if (count == 1) return byte;
        if (count < 0 && errno == EINTR) continue;
        return std::nullopt;
    }
}

}  // namespace

bool input_waits(int patience_ms) {
    pollfd waiting{STDIN_FILENO, POLLIN, 0};
    return ::poll(&waiting, 1, patience_ms) > 0;
}

TerminalKeys::TerminalKeys() {
    is_terminal_ = ::isatty(STDIN_FILENO) == 1;
    if (!is_terminal_ || ::tcgetattr(STDIN_FILENO, &before_) != 0) return;
    termios single = before_;
    single.c_lflag &= ~static_cast<tcflag_t>(ICANON | ECHO);
    single.c_cc[VMIN] = 1;
    single.c_cc[VTIME] = 0;
    set_ = ::tcsetattr(STDIN_FILENO, TCSANOW, &single) == 0;
}

TerminalKeys::~TerminalKeys() {
    if (set_) ::tcsetattr(STDIN_FILENO, TCSANOW, &before_);
}

std::optional<char> TerminalKeys::next() {
    if (ended_ || !input_waits(0)) return std::nullopt;
    const auto byte = read_byte();
    if (!byte) {
        ended_ = true;
        return std::nullopt;
    }
    if (*byte != escape || !is_terminal_ || !input_waits(sequence_ms)) return byte;
    while (input_waits(0))
        if (!read_byte()) break;
    return std::nullopt;
}

}  // namespace breakstep
