// Where a simulated athlete stands, and which gates its legs break on the way somewhere else.
//
// Pure; a value owned by one athlete. Two legs pass each mark, one after the other; a mark is passed again only once
// the first pass is over for any reader of gates (250 ms after its last break), as a body that must turn round does.
#pragma once

#include <array>
#include <variant>
#include <vector>

#include "core/random.hpp"
#include "core/time.hpp"
#include "core/trade/vocabulary.hpp"

namespace breakstep {

struct StrikeAct {
    HostTime at;
    PadRole pad{};
    double strength = 0;  ///< 0 .. 1
};
struct BeamAct {
    HostTime at;
    GateRole gate{};
    bool blocked = false;
};
/// What an athlete does to the rig, told when it can't be taken back any more; `at` may lie ahead.
using AthleteAct = std::variant<StrikeAct, BeamAct>;

/// By the marks: in reach (within the near mark), home (between near and far), beyond the far mark, behind the back
/// mark.
enum class Place : std::uint8_t { in_reach, home, beyond, behind };

/// How a leg passes a mark: time between the two legs, time of each in the beam, time from one mark to the next.
struct Gait {
    Duration legs_least{}, legs_most{};
    Duration beam{};
    Duration mark_to_mark{};
};
inline constexpr Gait quick_gait{50ms, 90ms, 45ms, 220ms};  // a step in to strike, or out again
inline constexpr Gait probe_gait{50ms, 60ms, 45ms, 220ms};  // a half step in and back
inline constexpr Gait walking_gait{110ms, 190ms, 80ms, 550ms};

class Body {
  public:
    Body(Place place, std::uint64_t seed) : random_(seed, 21), place_(place) {}

    [[nodiscard]] Place place() const { return place_; }
    /// When it has arrived where place() says.
    [[nodiscard]] HostTime arrived() const { return arrived_; }
    /// The earliest time at which the mark between `from` and its neighbour towards `to` can be passed.
    [[nodiscard]] HostTime may_leave(Place to) const;

    struct Passage {
        HostTime first_break, last_mark, arrived;  ///< first break of the first and of the last mark passed
    };
    /// Goes to `to`; the first leg breaks the first mark at `at`, or as soon after as it can.
    Passage move(HostTime at, Place to, const Gait& gait, std::vector<AthleteAct>& out);
    /// One leg out of the attack line and back.
    void side_step(HostTime at, std::vector<AthleteAct>& out);

  private:
    Random random_;
    Place place_;
    HostTime arrived_{};
    std::array<HostTime, 3> free_from_{};  ///< near, far, back: when the next pass may begin
    HostTime line_free_from_{};
};

}  // namespace breakstep
