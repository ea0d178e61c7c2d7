// Numbers out of the cells of a list. Pure; any thread.
#pragma once

#include "club/csv/cells.hpp"

namespace breakstep::timeable {

/// A finite number, the whole of the cell; the error (bad_input) says what stands there and where.
[[nodiscard]] Expected<double> number_from(const CsvCells& cells, const CsvCell& cell);

}  // namespace breakstep::timeable
