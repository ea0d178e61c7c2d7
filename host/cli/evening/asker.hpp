// Asks a question and takes its answer, from the terminal or from the phone that commands, whichever is first; what is
// said meanwhile stands on both.
//
// Owned by the command; main thread. Standard input must not be buffered (run_evening sees to it). At the input's end
// every question is answered with nothing, as before there were phones.
#pragma once

#include <functional>
#include <string>

#include "desk/questions.hpp"

namespace breakstep {

class Asker {
  public:
    /// `board` null: the terminal alone.
    explicit Asker(desk::Questions* board = nullptr) : board_(board) {}

    /// Called while an answer is waited for; may be empty.
    std::function<void()> idle;

    void say(const std::string& line);
    /// Reads a line; false at the input's end. `shown`: the buttons of the phone.
    [[nodiscard]] bool asked(const std::string& question, std::string& answer, desk::Questions::Seen shown = {});
    /// What happens, while nothing is asked.
    void wait(const std::string& title);

  private:
    [[nodiscard]] bool read_line(std::string& answer);

    desk::Questions* board_;
};

}  // namespace breakstep
