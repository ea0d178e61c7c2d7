#include "cli/evening/asker.hpp"

#include <poll.h>
#include <unistd.h>

#include <cerrno>
#include <iostream>

#include "core/error.hpp"

namespace breakstep {
namespace {

constexpr int nap_ms = 50;

// The question without what is only of use to who types.
std::string title_of(const std::string& question) {
    std::string title = question.substr(0, question.find(" ("));
    while (!title.empty() && (title.back() == ' ' || title.back() == '\n')) title.pop_back();
    while (!title.empty() && title.front() == '\n') title.erase(title.begin());
    return title;
}

}  // namespace

void Asker::say(const std::string& line) {
    std::cout << line << '\n' << std::flush;
    if (board_ != nullptr) board_->say(line);
}

void Asker::wait(const std::string& title) {
    if (board_ != nullptr) board_->wait(title);
}

// Byte by byte, so that a phone may answer while a line is being typed.
bool Asker::read_line(std::string& answer) {
    answer.clear();
    for (;;) {
        if (board_ != nullptr)
            if (auto line = board_->take()) {
                answer = std::move(*line);
                std::cout << shown_text(answer) << '\n' << std::flush;
                return true;
            }
        if (idle) idle();
        pollfd input{STDIN_FILENO, POLLIN, 0};
        if (poll(&input, 1, nap_ms) <= 0) continue;
        char typed = 0;
        const ssize_t got = read(STDIN_FILENO, &typed, 1);
        if (got < 0 && errno == EINTR) continue;
        if (got <= 0) return !answer.empty();
        if (typed == '\n') return true;
        answer += typed;
    }
}

bool Asker::asked(const std::string& question, std::string& answer, desk::Questions::Seen shown) {
    std::cout << question << std::flush;
    if (board_ != nullptr) {
        if (shown.title.empty()) shown.title = title_of(question);
        board_->ask(std::move(shown));
    }
    const bool told = read_line(answer);
    if (board_ != nullptr) board_->answered();
    return told;
}

}  // namespace breakstep
