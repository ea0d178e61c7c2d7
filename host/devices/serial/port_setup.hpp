// Opening and setting up a descriptor, apart from reading and writing it. Called by SerialPort alone.
#pragma once

#include <string>

#include "core/error.hpp"

namespace breakstep {

struct OpenedPort {
    int descriptor = -1;  ///< non-blocking, owned by the caller
    bool is_pty = false;
    bool slow_latency_timer = false;
};

[[nodiscard]] Expected<OpenedPort> open_port(const std::string& path);

}  // namespace breakstep
