// What must hold of every session of the swarm, whatever was drawn. Each broken rule comes back as a sentence.
#pragma once

#include <string>
#include <vector>

#include "simulation/swarm_run.hpp"

namespace breakstep::swarm {

[[nodiscard]] std::vector<std::string> broken_rules(const Played& played);

}  // namespace breakstep::swarm
