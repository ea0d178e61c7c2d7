// Who leads whom, in a bout of two: each direction's test, and what may be said of both. If both directions tell, it is
// that they move together, not who leads.
//
// Owned by one bout; one thread; memory as follow_test.hpp; cannot fail. Times are by any one clock, in order.
#pragma once

#include <cstdint>

#include "core/leading/follow_test.hpp"

namespace breakstep::leading {

/// The two people, as a list calls them.
enum class Who : std::uint8_t { a, b };

enum class Lead : std::uint8_t {
    too_few,        ///< under 15 acts of either
    no_sign,        ///< never "they don't follow"
    maybe_a_leads,  ///< a hunch that B goes because A acted
    maybe_b_leads,
    maybe_together,
    a_leads,
    b_leads,
    together,  ///< both tell: who leads can't be told
};
inline constexpr std::uint64_t acts_at_least = 15;

class WhoLeads {
  public:
    explicit WhoLeads(Duration shortest_of_a = usual_shortest, Duration shortest_of_b = usual_shortest)
        : a_follows_b_(shortest_of_a), b_follows_a_(shortest_of_b) {}

    /// Went in past the near mark: an entry for the own rhythm, an act to the other.
    void entered(Who who, Duration at);
    /// A foot left the floor: an act to the other.
    void lifted(Who who, Duration at);
    /// As FollowTest::interrupted(), for both.
    void interrupted();

    [[nodiscard]] const FollowTest& a_follows_b() const { return a_follows_b_; }
    [[nodiscard]] const FollowTest& b_follows_a() const { return b_follows_a_; }
    [[nodiscard]] Lead lead() const;
    /// Acts of the one who acted more.
    [[nodiscard]] std::uint64_t acts() const;

  private:
    FollowTest a_follows_b_, b_follows_a_;
};

}  // namespace breakstep::leading
