#include "cli/timeable/numbers.hpp"

#include <charconv>
#include <cmath>
#include <system_error>

#include "club/lists/list_words.hpp"

namespace breakstep::timeable {

Expected<double> number_from(const CsvCells& cells, const CsvCell& cell) {
    std::string_view digits = cell.text;
    if (digits.starts_with('+')) digits.remove_prefix(1);
    double value = 0;
    const auto result = std::from_chars(digits.data(), digits.data() + digits.size(), value);
    if (!digits.empty() && result.ec == std::errc{} && result.ptr == digits.data() + digits.size() &&
        std::isfinite(value))
        return value;
    const std::string where = cells.place(cell);
    if (cell.text.empty())
        return failure(ErrorKind::bad_input, where + ": the cell is empty", "put a number there, or take the line out");
    const std::string what = where + ": \"" + shown_cell(cell.text) + "\" is not a ";
    if (result.ec == std::errc::result_out_of_range || (result.ec == std::errc{} && !std::isfinite(value)))
        return failure(ErrorKind::bad_input, what + "finite number", "put a number there, or take the line out");
    return failure(ErrorKind::bad_input, what + "number",
                   cell.text.find(',') != std::string::npos ? "write decimals with a point: 0.82, not 0,82"
                                                            : "put a number there, or take the line out");
}

}  // namespace breakstep::timeable
