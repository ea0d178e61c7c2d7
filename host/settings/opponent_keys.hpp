// The keys of an opponent, shared by settings (a table for each level) and drill files (what a drill changes).
#pragma once

#include "core/trade/opponent.hpp"

namespace breakstep {

class TableReader;
void read_opponent(TableReader& table, OpponentSettings& opponent);

}  // namespace breakstep
