// The live reps and views, once for all phones: each rep has a number, each phone knows up to which it has them, and
// gets what it misses, in order and once, however long it slept. A program that starts again in an evening begins a new
// run: what was before counts from 1 again, and a phone of another run gets everything anew.
//
// Owned by the desk; its thread's alone. It reads the evening's published views at its own pace, so no phone can slow
// the evening, and keeps nothing a phone: a slow one gets more at a time, later.
#pragma once

#include <cstdint>
#include <memory>
#include <string>
#include <vector>

#include "desk/house.hpp"

namespace breakstep::desk {

class Feed {
  public:
    /// `house` must outlive it; `run` is a word of its own for this run.
    Feed(const DeskHouse& house, std::string run);

    /// Where a phone stands. `view`: the number of the view it has.
    struct Place {
        std::string run;
        std::uint64_t rep = 0, view = 0;
    };
    /// Takes what is new. True if something is.
    bool refresh();
    /// What a phone at `place` misses, as one JSON object; `place` is where it stands then. "" for nothing.
    [[nodiscard]] std::string missed(Place& place) const;

    [[nodiscard]] const std::string& run() const { return run_; }
    [[nodiscard]] std::uint64_t last() const { return reps_.size(); }
    [[nodiscard]] const std::shared_ptr<const EveningView>& view() const { return view_; }
    /// As it is now; null for one that is not known.
    [[nodiscard]] const RepSeen* find(SessionId session, RepId rep) const;

  private:
    void add(RepSeen rep);

    const DeskHouse& house_;
    std::string run_;
    std::uint64_t from_house_ = 0;
    std::vector<RepSeen> seen_;      ///< by number - 1
    std::vector<std::string> reps_;  ///< the same as JSON
    std::shared_ptr<const EveningView> view_;
    std::string view_json_;
};

}  // namespace breakstep::desk
