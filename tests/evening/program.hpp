// `breakstep evening` as a process that can be killed: what it says comes line by line, what is typed goes in. Single
// thread; throws std::runtime_error where no process can be had.
#pragma once

#include <sys/types.h>

#include <filesystem>
#include <string>
#include <vector>

namespace breakstep::tests {

class Program {
  public:
    Program(const std::string& program, const std::vector<std::string>& arguments, const std::filesystem::path& home);
    ~Program();
    Program(const Program&) = delete;
    Program& operator=(const Program&) = delete;

    void type(const std::string& text) const;
    /// Lines that are whole by now.
    [[nodiscard]] std::vector<std::string> lines();
    /// -9, at once, and waits until it is gone.
    void kill_at_once();
    [[nodiscard]] bool ended();
    [[nodiscard]] int exit_code() const { return code_; }

  private:
    pid_t child_ = -1;
    int in_ = -1, out_ = -1, code_ = -1;
    std::string rest_;
};

}  // namespace breakstep::tests
