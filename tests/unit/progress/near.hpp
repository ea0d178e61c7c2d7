// Equality within a share of the expected value; doctest's own Approx adds the share of 1, which is loose for small
// figures.
#pragma once

#include <doctest/doctest.h>

namespace breakstep::test {

inline doctest::Approx near(double expected, double share) {
    return doctest::Approx(expected).epsilon(share).scale(expected == 0 ? 1 : 0);
}

}  // namespace breakstep::test
