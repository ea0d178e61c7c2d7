// How a simulated athlete reads the lamps: which phase it sees, what it expects to come and when, from the lengths that
// it has seen so far. It knows what the coach told it to answer; it never knows the plan.
//
// Pure; owned by one AthleteModel, its thread. Times are true times of lamp changes, given once the athlete has noticed
// them. A held leg looks like a leg that is up: the border between the two is not seen.
#pragma once

#include <cstddef>
#include <optional>
#include <vector>

#include "core/random.hpp"
#include "core/time.hpp"
#include "core/trade/drill.hpp"
#include "core/trade/lamp_code.hpp"

namespace breakstep {

/// What a lamp change looked like.
enum class Sight : std::uint8_t { nothing, lift, up, pull_back, drop, gap, hands, feint_over, attack_over };

class AttackReader {
  public:
    /// `told`: what the coach said before the drill, with the answer to each kind. Empty: a single kick, at the drop.
    /// `used_to`: the grade of partners whose lengths it expects before it has seen any.
    AttackReader(std::vector<AttackChoice> told, Level used_to);

    /// The lamps changed at `at`.
    Sight see(HostTime at, LampSet lit);
    /// A new attack is expected; guesses its kind by how often each was told.
    void guess_kind(Random& random);
    /// The leg has been up for longer than a kick: it is held, if that was told of. True if this changed the mind.
    bool up_too_long(HostTime now);

    [[nodiscard]] const AttackChoice& expected() const { return told_[expected_]; }
    [[nodiscard]] double bits() const;  ///< uncertainty about the kind, log2 of the number told
    [[nodiscard]] bool feints_told() const;
    [[nodiscard]] bool under_way() const { return !seen_.empty(); }
    [[nodiscard]] std::optional<Sight> last() const;
    [[nodiscard]] HostTime last_at() const { return seen_at_.empty() ? HostTime{} : seen_at_.back(); }
    [[nodiscard]] HostTime began_at() const { return seen_at_.empty() ? HostTime{} : seen_at_.front(); }
    /// How long a leg is up before it looks held.
    [[nodiscard]] Duration held_after() const;

    /// When `moment` is expected, as it looks now: the first that is not over at `now`; nullopt: none comes any more.
    struct Window {
        HostTime begin, end;
    };
    [[nodiscard]] std::optional<Window> window(Moment moment, HostTime now) const;
    /// The span in which the leg is held up, if that kind is expected.
    [[nodiscard]] std::optional<Window> held_window(HostTime now) const;
    /// The attack is over: whatever comes next is a new one.
    void forget_attack();

  private:
    /// A mean in ns that the newest lengths move, the first ones most.
    struct Length {
        double mean = 0;
        int seen = 0;
        void learn(double length);
    };
    struct Lengths {
        Length lift, up, pull_back, drop, gap, hold, hands;
    };
    struct Expected {
        Phase phase{};
        double length = 0;
        bool held = false;
    };
    [[nodiscard]] std::vector<Expected> script_of(const AttackChoice& choice) const;
    [[nodiscard]] static std::vector<Sight> sights_of(const std::vector<Expected>& script);
    [[nodiscard]] bool fits(const AttackChoice& choice) const;
    /// What is expected from the last thing seen on, that one first; begins are offsets from it.
    [[nodiscard]] std::vector<Expected> ahead() const;
    template <class Wanted>
    [[nodiscard]] std::optional<Window> find(HostTime now, Wanted wanted) const;
    void learn(Sight ended, double length);
    void change_mind();

    std::vector<AttackChoice> told_;
    std::size_t expected_ = 0;
    Lengths lengths_;
    std::vector<Sight> seen_;
    std::vector<HostTime> seen_at_;
    LampSet lit_ = 0;
};

}  // namespace breakstep
