// The coach's keys while an evening runs, from the terminal and from the stage's window alike: each key a request to
// the evening, some with a question first (whose set? which drill?). One machine for both, so that what was begun at
// one may be ended at the other.
//
// Owned by the command; main thread. It knows nobody and asks nothing itself: what it wants comes out by KeyboardDesk.
#pragma once

#include <functional>
#include <string>
#include <vector>

#include "hall/evening/evening_view.hpp"

namespace breakstep {

/// What keys can do. All are called on the main thread.
struct KeyboardDesk {
    std::function<void(evening::Request)> ask;
    /// A call-sign was typed for one who comes; "yes" to a question of before comes as `sure`.
    std::function<void(const std::string& call_sign, bool sure)> comes;
    std::function<void(AthleteId)> leaves;
    std::function<void()> leave;  ///< the program, not the evening
    std::function<void()> pair;   ///< digits for another phone; null without a desk
    /// A line for the terminal.
    std::function<void(const std::string&)> say;
    /// The question that stands, with what was typed; "" for none.
    std::function<void(const std::string&)> show_question;
    std::vector<std::string> drill_names, drill_titles;
};

class KeyboardHand {
  public:
    explicit KeyboardHand(KeyboardDesk desk) : desk_(std::move(desk)) {}

    /// A byte from the terminal, or a key of the window as one: letters small, Escape 27, Return 10, Backspace 8.
    void key(char key, const EveningView& view);
    /// Asks whether the typed call-sign is a new athlete's.
    void ask_whether_new(const std::string& call_sign);
    /// The keys in one line.
    [[nodiscard]] static std::string legend();

  private:
    enum class Question {
        none,
        whose_set,
        who_is_back,
        who_comes,
        is_new,
        who_leaves,
        whose_drill,
        which_drill,
        note,
        partner_next,
        minutes,
        end
    };
    void at_rest(char key, const EveningView& view);
    void begin(Question question, const std::string& words, const EveningView& view);
    void answered(const std::string& line, const EveningView& view);
    void answered_end(const std::string& line);
    void answered_list(std::string typed, const EveningView& view);
    void show();
    void stop();
    [[nodiscard]] const PersonSeen* person_typed(const std::string& typed, const EveningView& view) const;

    KeyboardDesk desk_;
    Question question_ = Question::none;
    std::string words_, line_;
    std::string new_one_;
    AthleteId whose_drill_{};
};

}  // namespace breakstep
