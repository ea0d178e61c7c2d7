#include "cli/evening/keyboard_hand.hpp"

#include <fmt/format.h>

#include <utility>

#include "cli/evening/dialog.hpp"
#include "club/csv/csv.hpp"
#include "core/error.hpp"
#include "store/text_rules.hpp"

namespace breakstep {

using namespace evening;

namespace {

constexpr char escape = 27, backspace = 8, erase = 127, line_feed = 10, carriage_return = 13;

struct Key {
    char key;
    Ask ask;
};
// Those that need no more than the key.
constexpr Key plain_keys[] = {{'n', Ask::next},   {'k', Ask::skip}, {'v', Ask::void_last}, {'t', Ask::take_back},
                              {'r', Ask::repeat}, {' ', Ask::tap},  {'s', Ask::sore},      {'g', Ask::go_on}};

}  // namespace

std::string KeyboardHand::legend() {
    return "n next block  k skip  c comes back  o whose set  p pause  v void  t take back  r one more set  space tap  "
           "m "
           "note  s sore  d drill  f partner  b minutes  a arrives  l leaves  Esc end";
}

void KeyboardHand::key(char key, const EveningView& view) {
    if (question_ == Question::none) return at_rest(key, view);
    if (key == escape) {
        stop();
        return;
    }
    if (key == line_feed || key == carriage_return) {
        const std::string line = std::exchange(line_, {});
        answered(line, view);
        return;
    }
    if (key == backspace || key == erase) {
        // A letter may be several bytes.
        while (!line_.empty() && (static_cast<unsigned char>(line_.back()) & 0xC0U) == 0x80U) line_.pop_back();
        if (!line_.empty()) line_.pop_back();
    } else if (static_cast<unsigned char>(key) >= ' ' && line_.size() < 200) {
        line_ += key;
    }
    show();
}

void KeyboardHand::at_rest(char key, const EveningView& view) {
    for (const Key& each : plain_keys)
        if (each.key == key) return desk_.ask({each.ask, {}, ""});
    switch (key) {
        case 'p':
            return desk_.ask({view.paused ? Ask::go_on : Ask::pause, {}, ""});
        case 'o':
            return begin(Question::whose_set, "Whose set is it?", view);
        case 'c':
            return begin(Question::who_is_back, "Who is back?", view);
        case 'a':
            return begin(Question::who_comes, "Who comes? (call-sign)", view);
        case 'l':
            return begin(Question::who_leaves, "Who leaves?", view);
        case 'd':
            return begin(Question::whose_drill, "Whose drill?", view);
        case 'f':
            if (!view.partner_next) return desk_.say("no partner is cued just now");
            return begin(Question::partner_next,
                         "The partner's next? (numbers in order; + first: after those; nothing: as planned)", view);
        case 'b':
            return begin(Question::minutes, "Which block, how many minutes? (as 2 15)", view);
        case 'm':
            return begin(Question::note, "Note:", view);
        case 'e':
        case escape:
            return begin(Question::end, "End the evening? (yes; later: it goes on when started again tonight; no)",
                         view);
        case 'q':
            if (desk_.pair) return desk_.pair();
            return desk_.say("no desk is open; --desk opens one");
        case '?':
            return desk_.say(legend());
        case line_feed:
        case carriage_return:
            return;
        default:
            return desk_.say(fmt::format("no such key; {}", legend()));
    }
}

void KeyboardHand::begin(Question question, const std::string& words, const EveningView& view) {
    question_ = question;
    words_ = words;
    line_.clear();
    const bool of_people = question == Question::whose_set || question == Question::who_is_back ||
                           question == Question::who_leaves || question == Question::whose_drill;
    if (of_people) {
        std::string names;
        for (std::size_t i = 0; i < view.people.size(); ++i)
            names += fmt::format("{}{} {}", i == 0 ? "" : "  ", i + 1, view.people[i].call_sign);
        desk_.say(names);
    }
    if (question == Question::partner_next) {
        std::string kinds;
        const auto& all = view.partner_next->kinds;
        for (std::size_t i = 0; i < all.size(); ++i) kinds += fmt::format("{}{} {}", i == 0 ? "" : "  ", i + 1, all[i]);
        desk_.say(kinds);
    }
    if (question == Question::minutes)
        for (std::size_t i = 0; i < view.blocks.size(); ++i)
            desk_.say(fmt::format("{:>3}  {}", i + 1, shown_text(view.blocks[i].title)));
    show();
}

void KeyboardHand::ask_whether_new(const std::string& call_sign) {
    question_ = Question::is_new;
    new_one_ = call_sign;
    words_ = fmt::format("Nobody is called {}. A new athlete? (yes, no)", shown_text(call_sign));
    line_.clear();
    show();
}

void KeyboardHand::show() { desk_.show_question(words_ + " " + shown_text(line_)); }

void KeyboardHand::stop() {
    question_ = Question::none;
    line_.clear();
    desk_.show_question("");
}

const PersonSeen* KeyboardHand::person_typed(const std::string& typed, const EveningView& view) const {
    if (const auto number = number_in(typed, view.people.size())) return &view.people[*number - 1];
    for (const PersonSeen& each : view.people)
        if (folded(each.call_sign) == folded(typed)) return &each;
    return nullptr;
}

void KeyboardHand::answered_end(const std::string& line) {
    const std::string said = folded(trimmed(line));
    stop();
    if (said == "yes" || said == "y") return desk_.ask({Ask::end, {}, ""});
    if (said == "later" || said == "l") return desk_.leave();
}

// Numbers of what was listed, or their words; the evening says what can't be.
void KeyboardHand::answered_list(std::string typed, const EveningView& view) {
    stop();
    std::string list;
    if (!typed.empty() && typed.front() == '+') {
        list = "+";
        typed.erase(0, 1);
    }
    bool first = true;
    for (const std::string& each : words_in(typed)) {
        const std::size_t most = view.partner_next ? view.partner_next->kinds.size() : 0;
        const auto number = number_in(each, most);
        list += (first ? "" : ", ") + (number ? view.partner_next->kinds[*number - 1] : each);
        first = false;
    }
    desk_.ask({Ask::partner_next, {}, list});
}

void KeyboardHand::answered(const std::string& line, const EveningView& view) {
    const std::string typed(trimmed(line));
    const Question question = question_;
    if (question == Question::end) return answered_end(line);
    if (question == Question::partner_next) return answered_list(typed, view);
    if (typed.empty()) return stop();
    if (question == Question::note) {
        stop();
        return desk_.ask({Ask::note, {}, typed});
    }
    if (question == Question::minutes) {
        stop();
        return desk_.ask({Ask::minutes, {}, typed});
    }
    if (question == Question::who_comes) {
        stop();
        return desk_.comes(typed, false);
    }
    if (question == Question::is_new) {
        stop();
        if (folded(typed) == "yes" || folded(typed) == "y")
            desk_.comes(new_one_, true);
        else
            desk_.say(fmt::format("{} is not added", shown_text(new_one_)));
        return;
    }
    if (question == Question::which_drill) {
        const auto number = number_in(typed, desk_.drill_names.size());
        if (!number) {
            desk_.say(fmt::format("there are drills 1 to {}", desk_.drill_names.size()));
            return show();
        }
        stop();
        return desk_.ask({Ask::drill, whose_drill_, desk_.drill_names[*number - 1]});
    }
    const PersonSeen* person = person_typed(typed, view);
    if (person == nullptr) {
        desk_.say(fmt::format("nobody here is {}", shown_text(typed)));
        return show();
    }
    const AthleteId athlete = person->athlete;
    stop();
    if (question == Question::whose_set) return desk_.ask({Ask::someone_else, athlete, ""});
    if (question == Question::who_is_back) return desk_.ask({Ask::comes_back, athlete, ""});
    if (question == Question::who_leaves) return desk_.leaves(athlete);
    whose_drill_ = athlete;
    for (std::size_t i = 0; i < desk_.drill_titles.size(); ++i)
        desk_.say(fmt::format("{:>3}  {}", i + 1, desk_.drill_titles[i]));
    begin(Question::which_drill, "Which drill? (number)", view);
}

}  // namespace breakstep
