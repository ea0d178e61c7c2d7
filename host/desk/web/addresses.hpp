// This computer's own addresses in the local network. Any thread; fails nowhere: none are none.
#pragma once

#include <string>
#include <vector>

namespace breakstep::desk {

/// IPv4, but for the loopback's, of interfaces that are up; those of private networks first.
[[nodiscard]] std::vector<std::string> own_addresses();

}  // namespace breakstep::desk
