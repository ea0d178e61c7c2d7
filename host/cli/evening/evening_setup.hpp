// From what a coach says before an evening to what runs it. Main thread; the stores are open. Fails as they do.
#pragma once

#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "cli/evening/club_tonight.hpp"
#include "core/progress/next_drill.hpp"
#include "hall/evening/evening_stores.hpp"
#include "hall/evening/live_evening.hpp"

namespace breakstep {

/// The stores of an evening that runs, each with a thread of its own.
class NightStores {
  public:
    [[nodiscard]] static Expected<std::unique_ptr<NightStores>> open(const CommonOptions& options,
                                                                     const Settings& settings,
                                                                     std::function<void()> on_committed);
    [[nodiscard]] Store& store() { return *store_; }
    [[nodiscard]] EveningStores& journal() { return *journal_; }
    /// The evening's own file, made if it is not there.
    [[nodiscard]] Expected<Store*> tonight();
    /// The same if it is there; else null.
    [[nodiscard]] Expected<Store*> tonight_if_there();
    [[nodiscard]] Expected<void> close();

  private:
    std::function<void()> on_committed_;
    std::unique_ptr<Store> store_, tonight_;
    std::unique_ptr<EveningStores> journal_;
};

/// Makes attendance of athletes: what they do next, whether they are kept.
class Welcome {
  public:
    Welcome(NightStores& stores, const Settings& settings, bool simulated, bool captured)
        : stores_(stores), settings_(settings), simulated_(simulated), captured_(captured) {}
    /// Fails (bad_input) for one whose results may not be kept while a capture is made.
    [[nodiscard]] Expected<Attending> attend(const Athlete& athlete);
    /// Where it is the evening's only: to be told to the journal, on the engine's thread once that runs.
    void keep_apart(const Attending& one);

  private:
    [[nodiscard]] Expected<void> choose_drill(const Athlete& athlete, Attending& one);

    NightStores& stores_;
    const Settings& settings_;
    const bool simulated_, captured_;
    bool term_read_ = false;
    struct Next {
        std::string drill, because;
    };
    std::map<AthleteId, Next> next_;
    std::vector<progress::NextRule> rules_;
};

/// The evening that was cut off earlier tonight, if there is one.
[[nodiscard]] Expected<std::optional<EveningSummary>> cut_off_tonight(const Store& store);
/// Reads it, with who was there.
struct Resumed {
    CutEvening cut;
    evening::EveningBegan began;
    evening::EveningTime at{};
    std::vector<AthleteId> gone;  ///< whose consent ended since: they take no more turns
};
[[nodiscard]] Expected<Resumed> resume(NightStores& stores, const EveningSummary& summary, ClubTonight& club,
                                       Welcome& welcome);

}  // namespace breakstep
