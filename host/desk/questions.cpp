#include "desk/questions.hpp"

#include <utility>

namespace breakstep::desk {
namespace {

constexpr std::size_t lines_most = 40;

}  // namespace

void Questions::say(const std::string& line) {
    const std::lock_guard lock(lock_);
    if (std::exchange(fresh_, false)) said_.clear();
    if (said_.size() == lines_most) said_.erase(said_.begin());
    said_.push_back(line);
    seen_.lines = said_;
    ++seen_.number;
}

void Questions::ask(Seen question) {
    const std::lock_guard lock(lock_);
    if (std::exchange(fresh_, false)) said_.clear();
    question.number = seen_.number + 1;
    question.lines = said_;
    question.open = true;
    seen_ = std::move(question);
    line_.reset();
}

void Questions::wait(const std::string& title) {
    const std::lock_guard lock(lock_);
    Seen waits;
    waits.number = seen_.number + 1;
    waits.title = title;
    waits.lines = said_;
    seen_ = std::move(waits);
    line_.reset();
}

bool Questions::answer(std::uint64_t number, const std::string& line) {
    const std::lock_guard lock(lock_);
    if (!seen_.open || seen_.number != number) return false;
    line_ = line;
    seen_.open = false;
    return true;
}

std::optional<std::string> Questions::take() {
    const std::lock_guard lock(lock_);
    if (!line_) return std::nullopt;
    fresh_ = true;
    return std::exchange(line_, std::nullopt);
}

void Questions::answered() {
    const std::lock_guard lock(lock_);
    seen_.open = false;
    line_.reset();
    fresh_ = true;
}

Questions::Seen Questions::seen() const {
    const std::lock_guard lock(lock_);
    return seen_;
}

}  // namespace breakstep::desk
