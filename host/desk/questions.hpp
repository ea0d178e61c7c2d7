// What the program asks before an evening (who is here, what fits, go) or while it calibrates, for the terminal and the
// commanding phone alike: the main thread shows a question and takes the line that answers it, wherever it was typed.
//
// Owned by the command beside its desk; all calls from any thread. Each question has a number, so that a tap on a page
// of before answers nothing. Can't fail. Bounded: the last forty lines said.
#pragma once

#include <cstdint>
#include <map>
#include <mutex>
#include <optional>
#include <string>
#include <vector>

namespace breakstep::desk {

class Questions {
  public:
    /// A button. It answers with `line`; with one of the picks of that name after it, where `picks` names some.
    struct Choice {
        std::string line, words, under;
        bool ticks = false, on = false;  ///< one of a list that is ticked; whether it is
        std::string picks{};
    };
    struct Pick {
        std::string line, words;
    };
    struct Seen {
        std::uint64_t number = 0;
        bool open = false;  ///< an answer is waited for
        std::string title;
        std::vector<std::string> lines;  ///< what was said since the last answer
        std::vector<Choice> choices;
        std::map<std::string, std::vector<Pick>> picks;
        std::string go;      ///< the button that answers with nothing; "": there is none
        bool typed = false;  ///< a line may be typed as well
    };

    /// Something said meanwhile.
    void say(const std::string& line);
    /// Asked from now on; its number and lines are filled in here.
    void ask(Seen question);
    /// Nothing is asked; `title` says what happens.
    void wait(const std::string& title);
    /// From a phone. False: that question is not asked any more.
    [[nodiscard]] bool answer(std::uint64_t number, const std::string& line);
    /// The line that came from a phone.
    [[nodiscard]] std::optional<std::string> take();
    /// It was answered at the terminal.
    void answered();
    [[nodiscard]] Seen seen() const;

  private:
    mutable std::mutex lock_;
    Seen seen_;
    std::vector<std::string> said_;
    std::optional<std::string> line_;
    bool fresh_ = false;  ///< nothing was said since the last answer
};

}  // namespace breakstep::desk
