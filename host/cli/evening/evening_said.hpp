// What the terminal says of an evening that runs, from its published views: whoever is called, each rep, each set, what
// the hall does. It reads at its own pace and slows nobody. Main thread; writes to std::cout.
#pragma once

#include <map>
#include <string>

#include "hall/evening/evening_view.hpp"
#include "hall/evening/live_evening.hpp"

namespace breakstep {

class EveningSaid {
  public:
    explicit EveningSaid(bool terminal) : terminal_(terminal) {}

    /// Whatever is new since the last call.
    void follow(const LiveEvening& evening);
    void say(const std::string& line);
    /// The line that is being typed, kept below what is said.
    void question(const std::string& line);

  private:
    void say_changes(const EveningView& view);
    void say_reps(const std::vector<RepSeen>& reps);

    const bool terminal_;
    std::string question_;
    EveningView last_;
    std::uint64_t reps_seen_ = 0;
    std::map<std::pair<SessionId, RepId>, std::string> rep_lines_;
};

}  // namespace breakstep
