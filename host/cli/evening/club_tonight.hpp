// Who came tonight, as the evening's owner must know them: names, ages, drills, what their rhythm was like before. And
// the drills. Filled by the main thread before the evening runs; then the engine's thread's alone: whoever comes later
// is handed over by LiveEvening::came().
#pragma once

#include <map>
#include <memory>
#include <mutex>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "cli/session_setup.hpp"
#include "club/term/last_level.hpp"
#include "hall/evening/evening_owner.hpp"

namespace breakstep {

/// An athlete of tonight. `athlete.id` is tonight's: another than the store's where results are the evening's only, so
/// that the evening's journal names nobody whose results may not be kept.
struct Attending {
    Athlete athlete;
    std::string prior;                          ///< known_prior()
    std::map<std::string, LastTime> last{};     ///< last_times(): before tonight
    std::map<std::string, LastLevel> levels{};  ///< last_levels(): before tonight
    std::string drill;                          ///< its own
    std::string because;                        ///< why that one; "" if the coach chose it
    bool kept = true;
};

class ClubTonight {
  public:
    ClubTonight(const Settings& settings, std::vector<Drill> drills);

    void add(Attending attending);
    /// Of an evening that goes on: which band stands at that place in its journal. 0 or "": none.
    void stands_at(std::int32_t height_order, const std::string& band);
    [[nodiscard]] const std::vector<Attending>& attending() const { return attending_; }
    [[nodiscard]] std::vector<Attending>& attending() { return attending_; }
    [[nodiscard]] const Attending* find(AthleteId id) const;
    [[nodiscard]] const std::vector<Drill>& drills() const { return drills_; }
    [[nodiscard]] const Drill* drill(const std::string& name) const;
    [[nodiscard]] evening::AthleteCame came(const Attending& one) const;
    [[nodiscard]] std::optional<evening::DoseGiven> dose(const evening::Person& person,
                                                         const evening::Block& block) const;
    /// What sets are drawn from.
    void seed_sets(std::uint64_t seed) { seeds_ = Random(seed, 0x6e69676874); }
    /// Ids that are taken.
    void taken(SessionId session) { taken_.insert(session); }
    [[nodiscard]] SessionId fresh_session();
    /// Refers to this.
    [[nodiscard]] EveningClub club();

  private:
    [[nodiscard]] Expected<SessionBegan> session(AthleteId id, const std::string& drill);
    [[nodiscard]] SceneNames names(AthleteId id, const SessionBegan& began) const;

    std::string club_;
    std::vector<Drill> drills_;
    std::vector<Attending> attending_;
    [[nodiscard]] std::int32_t height_order(const std::string& band) const;

    mutable std::mutex heights_lock_;  ///< whoever arrives is asked on the main thread, gates on the engine's
    mutable std::map<std::int32_t, std::string>
        heights_;  ///< bands by their place: about the centimetres they begin at
    IdSource ids_{std::nullopt};
    Random seeds_{IdSource(std::nullopt).next(), 0x6e69676874};
    std::set<SessionId> taken_;
};

}  // namespace breakstep
