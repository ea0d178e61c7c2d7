#include "evening/program.hpp"

#include <fcntl.h>
#include <signal.h>
#include <stdlib.h>
#include <sys/wait.h>
#include <unistd.h>

#include <array>
#include <stdexcept>

namespace breakstep::tests {

Program::Program(const std::string& program, const std::vector<std::string>& arguments,
                 const std::filesystem::path& home) {
    std::array<int, 2> to{}, from{};
    if (::pipe2(to.data(), O_CLOEXEC) != 0 || ::pipe2(from.data(), O_CLOEXEC) != 0)
        throw std::runtime_error("no pipe can be had");
    std::vector<std::string> words{program};
    words.insert(words.end(), arguments.begin(), arguments.end());
    std::vector<char*> typed;
    for (std::string& word : words) typed.push_back(word.data());
    typed.push_back(nullptr);
    child_ = ::fork();
    if (child_ < 0) throw std::runtime_error("no process can be had");
    if (child_ == 0) {
        ::dup2(to[0], STDIN_FILENO);
        ::dup2(from[1], STDOUT_FILENO);
        ::dup2(from[1], STDERR_FILENO);
        ::setenv("HOME", home.c_str(), 1);
        for (const char* name : {"XDG_CONFIG_HOME", "XDG_DATA_HOME", "XDG_CACHE_HOME", "BREAKSTEP_CONFIG"})
            ::unsetenv(name);
        ::execv(program.c_str(), typed.data());
        ::_exit(127);
    }
    ::close(to[0]);
    ::close(from[1]);
    in_ = to[1];
    out_ = from[0];
    ::fcntl(out_, F_SETFL, O_NONBLOCK);
}

Program::~Program() {
    if (child_ > 0) kill_at_once();
    ::close(in_);
    ::close(out_);
}

void Program::type(const std::string& text) const {
    const ssize_t written = ::write(in_, text.data(), text.size());
    static_cast<void>(written);  // one that has just ended reads no more
}

std::vector<std::string> Program::lines() {
    std::array<char, 4096> bytes{};
    for (;;) {
        const ssize_t count = ::read(out_, bytes.data(), bytes.size());
        if (count <= 0) break;
        rest_.append(bytes.data(), static_cast<std::size_t>(count));
    }
    std::vector<std::string> all;
    for (std::size_t end = rest_.find('\n'); end != std::string::npos; end = rest_.find('\n')) {
        all.push_back(rest_.substr(0, end));
        rest_.erase(0, end + 1);
    }
    return all;
}

void Program::kill_at_once() {
    ::kill(child_, SIGKILL);
    ::waitpid(child_, nullptr, 0);
    child_ = -1;
}

bool Program::ended() {
    if (child_ < 0) return true;
    int status = 0;
    if (::waitpid(child_, &status, WNOHANG) != child_) return false;
    code_ = WIFEXITED(status) ? WEXITSTATUS(status) : -1;
    child_ = -1;
    return true;
}

}  // namespace breakstep::tests
