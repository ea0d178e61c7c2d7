// What a calibration found, as one JSON object with a line end. Pure; any thread.
#pragma once

#include <string>

#include "hall/trust/calibration.hpp"

namespace breakstep {

[[nodiscard]] std::string findings_json(const CalibrationFindings& findings);

}  // namespace breakstep
