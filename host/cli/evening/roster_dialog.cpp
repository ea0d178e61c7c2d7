// Who is here, whether their results may be kept, what they do.
#include <fmt/format.h>

#include <algorithm>
#include <iostream>
#include <map>
#include <set>

#include "cli/evening/dialog.hpp"
#include "club/athletes/naming.hpp"
#include "club/consent/consent_words.hpp"
#include "club/csv/csv.hpp"
#include "core/error.hpp"
#include "store/text_rules.hpp"

namespace breakstep {
namespace {

enum class Answer { yes, no, later };

/// Asks until it is one of the three. Nothing typed is later.
Answer may_be_kept(Asker& asker, const Athlete& athlete) {
    std::string answer;
    desk::Questions::Seen buttons;
    buttons.choices = {
        {"yes", "yes", ""},
        {"no", "no", ""},
        {"later", "later",
         may_keep(athlete, today_here()) ? "kept until then, and asked again" : "for this evening only until then"}};
    while (asker.asked(fmt::format("May {}'s results be kept? (yes, no, later) ", shown_text(shown(athlete))), answer,
                       buttons)) {
        const std::string typed = folded(trimmed(answer));
        if (typed == "yes" || typed == "y") return Answer::yes;
        if (typed == "no" || typed == "n") return Answer::no;
        if (typed.empty() || typed == "later" || typed == "l") return Answer::later;
        asker.say(fmt::format("Answer yes, no or later; \"{}\" is none of them.", shown_text(answer)));
    }
    return Answer::later;
}

Expected<void> take_answer(Asker& asker, Store& store, Athlete athlete, Answer answer) {
    const std::string today = today_here();
    if (answer == Answer::yes)
        athlete.consent = Consent{today, "the athlete", ""};
    else
        athlete.consent_refused_on = today;
    if (const auto changed = store.change_athlete(athlete); !changed) return changed;
    if (answer == Answer::yes)
        asker.say(fmt::format("  Kept from now on, by {}'s own yes of today.", shown_text(shown(athlete))));
    else
        asker.say(fmt::format(
            "  From now on for one evening only. What was kept before stays until `breakstep athletes erase {}`.",
            shell_word(shown(athlete))));
    return {};
}

class Ticks {
  public:
    Ticks(Asker& asker, Store& store, std::vector<Athlete> listed, IdSource& ids)
        : asker_(asker), store_(store), ids_(ids), listed_(std::move(listed)) {}

    void tick_all(bool on) {
        here_.clear();
        if (on)
            for (std::size_t i = 0; i < listed_.size(); ++i) here_.insert(i);
    }
    /// At the terminal: a phone has it as buttons.
    void show() const {
        for (std::size_t i = 0; i < listed_.size(); ++i)
            std::cout << fmt::format("  [{}] {:>2}  {:<16}{}\n", here_.contains(i) ? "x" : " ", i + 1,
                                     shown_text(shown(listed_[i])), shown_text(listed_[i].group));
    }
    [[nodiscard]] Expected<void> take(const std::string& word);
    [[nodiscard]] desk::Questions::Seen buttons() const;
    [[nodiscard]] std::vector<Athlete> here() const {
        std::vector<Athlete> all;
        for (const std::size_t i : here_) all.push_back(listed_[i]);
        return all;
    }

  private:
    void toggle(std::size_t i) {
        if (!here_.insert(i).second) here_.erase(i);
    }
    [[nodiscard]] Expected<void> take_call_sign(const std::string& typed);

    Asker& asker_;
    Store& store_;
    IdSource& ids_;
    std::vector<Athlete> listed_;
    std::set<std::size_t> here_;
};

// All, each group that is not whole, then one by one.
desk::Questions::Seen Ticks::buttons() const {
    desk::Questions::Seen seen;
    seen.choices.push_back({"all", "Everybody", ""});
    std::map<std::string, std::string> groups;
    for (std::size_t i = 0; i < listed_.size(); ++i)
        if (!listed_[i].group.empty() && !here_.contains(i)) groups[listed_[i].group] += fmt::format("{} ", i + 1);
    for (const auto& [group, numbers] : groups)
        seen.choices.push_back({numbers, shown_text(group), "all of the group"});
    for (std::size_t i = 0; i < listed_.size(); ++i)
        seen.choices.push_back({std::to_string(i + 1), shown_text(shown(listed_[i])), shown_text(listed_[i].group),
                                true, here_.contains(i)});
    seen.typed = true;
    seen.go = here_.empty() ? "Nobody is here" : fmt::format("These {} are here", here_.size());
    return seen;
}

Expected<void> Ticks::take(const std::string& word) {
    if (folded(word) == "all") {
        tick_all(true);
        return {};
    }
    const auto dash = word.find('-');
    const auto first = number_in(word.substr(0, dash), listed_.size());
    const auto last = dash == std::string::npos ? first : number_in(word.substr(dash + 1), listed_.size());
    if (first && last && *first <= *last) {
        for (std::size_t i = *first; i <= *last; ++i) toggle(i - 1);
        return {};
    }
    const bool is_number =
        !word.empty() && std::all_of(word.begin(), word.end(), [](char c) { return c >= '0' && c <= '9'; });
    if (is_number) {
        asker_.say(fmt::format("{}; \"{}\" is none of them.",
                               listed_.empty() ? std::string("Nobody is listed yet")
                                               : fmt::format("There are athletes 1 to {}", listed_.size()),
                               word));
        return {};
    }
    return take_call_sign(word);
}

Expected<void> Ticks::take_call_sign(const std::string& typed) {
    const auto known = store_.find_athlete(typed);
    if (!known) return tl::make_unexpected(known.error());
    if (*known) {
        const auto at =
            std::find_if(listed_.begin(), listed_.end(), [&](const Athlete& each) { return each.id == (*known)->id; });
        if (at == listed_.end()) {
            listed_.push_back(**known);
            here_.insert(listed_.size() - 1);
        } else {
            toggle(static_cast<std::size_t>(at - listed_.begin()));
        }
        return {};
    }
    std::string answer;
    desk::Questions::Seen yes_or_no;
    yes_or_no.choices = {{"yes", "yes", ""}, {"no", "no", ""}};
    const bool told = asker_.asked(fmt::format("Nobody is called {}. A new athlete? (yes, no) ", shown_text(typed)),
                                   answer, yes_or_no);
    const std::string said = folded(trimmed(answer));
    if (!told || (said != "yes" && said != "y")) {
        asker_.say(fmt::format("  {} is not added.", shown_text(typed)));
        return {};
    }
    const auto profile = find_athlete(typed);
    auto added = athlete_in(store_, typed, profile ? profile->lead : Side::right, ids_);
    if (!added && added.error().kind == ErrorKind::bad_input) {
        asker_.say("  " + added.error().text());
        return {};
    }
    if (!added) return tl::make_unexpected(added.error());
    listed_.push_back(std::move(*added));
    here_.insert(listed_.size() - 1);
    return {};
}

}  // namespace

std::optional<std::size_t> number_in(const std::string& text, std::size_t most) {
    std::size_t number = 0;
    if (text.empty() || text.size() > 3) return std::nullopt;
    for (const char digit : text) {
        if (digit < '0' || digit > '9') return std::nullopt;
        number = 10 * number + static_cast<std::size_t>(digit - '0');
    }
    return number >= 1 && number <= most ? std::optional(number) : std::nullopt;
}

std::vector<std::string> words_in(const std::string& line) {
    std::vector<std::string> words;
    std::string word;
    for (const char each : line + " ") {
        if (each != ' ' && each != ',' && each != '\t' && each != '\r') {
            word += each;
        } else if (!word.empty()) {
            words.push_back(std::exchange(word, {}));
        }
    }
    return words;
}

void list_drills_of(Asker& asker, const std::vector<Drill>& drills) {
    for (std::size_t i = 0; i < drills.size(); ++i)
        asker.say(fmt::format("  {:>2}  {:<14}{}", i + 1, word(drills[i].level), drills[i].title));
}

std::vector<desk::Questions::Pick> drill_picks(const std::vector<Drill>& drills, const std::string& before) {
    std::vector<desk::Questions::Pick> picks;
    for (std::size_t i = 0; i < drills.size(); ++i)
        picks.push_back({before + std::to_string(i + 1), drills[i].title.empty() ? drills[i].name : drills[i].title});
    return picks;
}

void ask_for_consent(Asker& asker, Store& store) {
    const auto athletes = store.athletes();
    if (!athletes) {
        std::cerr << "breakstep: " << athletes.error().text() << '\n';
        return;
    }
    const std::string today = today_here();
    for (const Athlete& athlete : *athletes) {
        if (athlete.call_sign.empty() || consent_state(athlete, today) != ConsentState::not_asked) continue;
        if (guardian_answers(athlete, today)) {
            asker.say(fmt::format("For this evening only: {}; {}", shown_text(why_not_kept(athlete, today)),
                                  shown_text(how_to_renew(athlete, today))));
            continue;
        }
        const Answer answer = may_be_kept(asker, athlete);
        if (answer == Answer::later) continue;
        if (const auto taken = take_answer(asker, store, athlete, answer); !taken)
            std::cerr << "breakstep: " << taken.error().text() << '\n';
    }
}

Expected<std::vector<Athlete>> ask_who_is_here(Asker& asker, Store& store, const std::string& group, IdSource& ids) {
    auto all = store.athletes();
    if (!all) return all;
    std::erase_if(*all, [&](const Athlete& each) {
        return each.call_sign.empty() || (!group.empty() && folded(each.group) != folded(group));
    });
    if (!group.empty() && all->empty())
        return failure(ErrorKind::not_found, "nobody is in the group \"" + group + "\"",
                       "`breakstep athletes list` shows the groups");
    Ticks ticks(asker, store, std::move(*all), ids);
    if (!group.empty()) ticks.tick_all(true);
    std::string line;
    ticks.show();
    while (asker.asked(
        "\nWho is here? (numbers and call-signs, 4-7, all; once more takes the tick away; nothing goes on) ", line,
        ticks.buttons())) {
        const std::vector<std::string> words = words_in(line);
        if (words.empty()) break;
        for (const std::string& each : words)
            if (const auto taken = ticks.take(each); !taken) return tl::make_unexpected(taken.error());
        ticks.show();
    }
    return ticks.here();
}

void ask_for_drills(Asker& asker, ClubTonight& club) {
    std::vector<Attending>& all = club.attending();
    const std::vector<Drill>& drills = club.drills();
    const auto show = [&] {
        std::cout << '\n';
        for (std::size_t i = 0; i < all.size(); ++i) {
            const Drill* drill = club.drill(all[i].drill);
            std::cout << fmt::format("  {:>2}  {:<14}{}{}\n", i + 1, shown_text(shown(all[i].athlete)),
                                     drill == nullptr ? "no drill" : drill->title,
                                     all[i].because.empty() ? "" : ": " + all[i].because);
        }
    };
    show();
    std::string line;
    const auto buttons = [&] {
        desk::Questions::Seen seen;
        for (std::size_t i = 0; i < all.size(); ++i) {
            const Drill* drill = club.drill(all[i].drill);
            seen.choices.push_back(
                {fmt::format("{} ", i + 1), shown_text(shown(all[i].athlete)),
                 (drill == nullptr ? "no drill" : drill->title) + (all[i].because.empty() ? "" : ": " + all[i].because),
                 false, false, "drills"});
        }
        seen.picks["drills"] = drill_picks(drills);
        seen.go = "So be it";
        return seen;
    };
    while (asker.asked(
        "Another drill for somebody? (athlete's number and drill's, as 2 7; ? lists the drills; nothing goes "
        "on) ",
        line, buttons())) {
        const std::vector<std::string> words = words_in(line);
        if (words.empty()) return;
        if (words.front() == "?") {
            list_drills_of(asker, drills);
            continue;
        }
        const auto who = number_in(words.front(), all.size());
        const auto which = words.size() == 2 ? number_in(words[1], drills.size()) : std::nullopt;
        if (!who || !which) {
            asker.say(fmt::format("Two numbers: athletes 1 to {}, drills 1 to {}; \"{}\" is not that.", all.size(),
                                  drills.size(), shown_text(line)));
            continue;
        }
        all[*who - 1].drill = drills[*which - 1].name;
        all[*who - 1].because.clear();
        warn_if_too_much(all[*who - 1].athlete, drills[*which - 1]);
        show();
    }
}

}  // namespace breakstep
