#include "truth/board_process.hpp"

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/wait.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <charconv>
#include <cstring>
#include <iterator>
#include <sstream>
#include <stdexcept>
#include <utility>

namespace breakstep::tests {
namespace {

#ifdef BREAKSTEP_BOARD_PROGRAM
constexpr const char* board_program = BREAKSTEP_BOARD_PROGRAM;
#else
constexpr const char* board_program = nullptr;
#endif

[[noreturn]] void fail(const std::string& what) { throw std::runtime_error("simulated board: " + what); }

std::vector<std::string> words_for(const BoardOptions& options) {
    if (board_program == nullptr) fail("it was not built; it needs the packages gcc-avr, avr-libc and libsimavr-dev");
    std::vector<std::string> words{board_program, "--seed", std::to_string(options.seed)};
    if (!options.memory.empty()) words.insert(words.end(), {"--memory", options.memory});
    if (options.paced) words.insert(words.end(), {"--pty", "--drift", std::to_string(options.drift_ppm)});
    return words;
}

template <class Number>
Number number(std::string_view text, int base = 10) {
    Number value{};
    const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value, base);
    if (error != std::errc{} || end != text.data() + text.size()) fail("a number was expected: " + std::string(text));
    return value;
}

}  // namespace

BoardProcess::BoardProcess(const BoardOptions& options) : paced_(options.paced) {
    std::vector<std::string> words = words_for(options);
    std::vector<char*> arguments;
    for (std::string& word : words) arguments.push_back(word.data());
    arguments.push_back(nullptr);
    std::array<int, 2> down{}, up{};
    if (pipe2(down.data(), O_CLOEXEC) != 0 || pipe2(up.data(), O_CLOEXEC) != 0) fail("no pipe");
    child_ = fork();
    if (child_ < 0) fail("no process");
    if (child_ == 0) {
        dup2(down[0], STDIN_FILENO);
        dup2(up[1], STDOUT_FILENO);
        execv(arguments[0], arguments.data());
        _exit(127);
    }
    close(down[0]);
    close(up[1]);
    to_child_ = down[1];
    from_child_ = up[0];
    if (!paced_) return;
    std::string line;
    while (terminal_.empty()) {
        if (!read_line(line, true)) fail("it ended before it began");
        take(line);
    }
}

BoardProcess::~BoardProcess() {
    try {
        finish();
    } catch (const std::exception& fault) {
        std::fprintf(stderr, "%s\n", fault.what());
    }
}

void BoardProcess::finish() {
    if (child_ < 0) return;
    const pid_t child = std::exchange(child_, -1);
    out_ += "quit\n";
    std::string trouble;
    try {
        write_out();
        std::string line;
        while (read_line(line, true)) take(line);
    } catch (const std::exception& fault) {
        trouble = fault.what();
    }
    close(to_child_);
    close(from_child_);
    int status = 0;
    waitpid(child, &status, 0);
    if (!trouble.empty()) throw std::runtime_error(trouble);
    if (!WIFEXITED(status) || WEXITSTATUS(status) != 0) fail("it did not end well");
}

void BoardProcess::command(std::string_view line) {
    out_.append(line);
    out_.push_back('\n');
    if (paced_) write_out();
}

void BoardProcess::pin(std::uint64_t at, std::string_view name, bool high) {
    command(fmt::format("pin {} {} {}", at, name, high ? 1 : 0));
}

void BoardProcess::gate(std::uint64_t at, unsigned gate, bool broken) {
    command(fmt::format("pin {} gate{} {}", at, gate, broken ? 1 : 0));
}

void BoardProcess::strike(std::uint64_t at, unsigned pad, double peak, double rise_us, double fall_ms) {
    command(fmt::format("strike {} {} {} {} {}", at, pad, peak, rise_us * cycles_per_us, fall_ms * cycles_per_ms));
}

void BoardProcess::reset(std::uint64_t at) { command(fmt::format("reset {}", at)); }

void BoardProcess::bytes(std::uint64_t at, const std::uint8_t* bytes, std::size_t size) {
    fmt::format_to(std::back_inserter(out_), "bytes {}", at);
    for (std::size_t i = 0; i < size; ++i) fmt::format_to(std::back_inserter(out_), " {:02x}", bytes[i]);
    out_.push_back('\n');
}

std::uint64_t BoardProcess::run(std::uint64_t until) {
    fmt::format_to(std::back_inserter(out_), "run {}\n", until);
    write_out();
    std::string line;
    do {
        if (!read_line(line, true)) fail("it ended during a run");
    } while (!take(line));
    return cycle_;
}

void BoardProcess::poll() {
    std::string line;
    while (read_line(line, false)) take(line);
}

std::vector<BoardByte> BoardProcess::take_sent() { return std::exchange(sent_, {}); }

void BoardProcess::write_out() {
    std::string_view left = out_;
    while (!left.empty()) {
        const ssize_t written = write(to_child_, left.data(), left.size());
        if (written < 0 && errno == EINTR) continue;
        if (written <= 0) fail("it takes no commands any more");
        left.remove_prefix(static_cast<std::size_t>(written));
    }
    out_.clear();
}

/// False at the end of the answers, or, without waiting, when none is there.
bool BoardProcess::read_line(std::string& line, bool wait) {
    for (;;) {
        if (const std::size_t end = in_.find('\n', in_at_); end != std::string::npos) {
            line.assign(in_, in_at_, end - in_at_);
            in_at_ = end + 1;
            return true;
        }
        in_.erase(0, std::exchange(in_at_, 0));
        fcntl(from_child_, F_SETFL, wait ? 0 : O_NONBLOCK);
        std::array<char, 65536> text;
        const ssize_t got = read(from_child_, text.data(), text.size());
        if (got < 0 && errno == EINTR) continue;
        if (got <= 0) return false;
        in_.append(text.data(), static_cast<std::size_t>(got));
    }
}

void BoardProcess::take_sent_line(const std::string& line) {
    std::string_view left = line;
    left.remove_prefix(5);
    while (!left.empty()) {
        const std::string_view word = left.substr(0, left.find(' '));
        const std::size_t colon = word.find(':');
        if (colon == std::string_view::npos) fail("an answer was not understood: " + line);
        sent_.push_back(
            {number<std::uint64_t>(word.substr(0, colon)), number<std::uint8_t>(word.substr(colon + 1), 16)});
        left.remove_prefix(std::min(left.size(), word.size() + 1));
    }
}

/// True for the end of a run.
bool BoardProcess::take(const std::string& line) {
    if (line.starts_with("sent ")) {
        take_sent_line(line);
        return false;
    }
    std::istringstream words(line);
    std::string kind;
    words >> kind;
    if (kind == "at") {
        words >> cycle_;
        return true;
    }
    if (kind == "lamps") {
        BoardLamps change;
        unsigned lit = 0;
        words >> change.cycle >> lit;
        change.lit = static_cast<std::uint8_t>(lit);
        lamps_.push_back(change);
    } else if (kind == "booted") {
        BoardBoot boot;
        words >> boot.cycle >> boot.clock_zero >> boot.cause;
        boots_.push_back(boot);
    } else if (kind == "pty") {
        words >> terminal_ >> started_ns_;
    } else if (kind == "lost") {
        words >> terminal_lost_;
    } else if (kind == "deepest") {
        words >> deepest_;
    } else {
        fail(line);
    }
    return false;
}

}  // namespace breakstep::tests
