// The commands and answers of COMMANDS.md: lines to calls and back. Single thread. A line that can't be understood is
// refused whole.
#pragma once

#include <cstdint>
#include <cstdio>
#include <string>

#include "controller.hpp"

namespace board {

enum class Understood : std::uint8_t {
    yes,
    no,
    run,  ///< `run_until` says how far; the caller runs
    quit
};

class Commands {
  public:
    explicit Commands(Controller& controller) : controller_(controller) {}
    /// `may_drive`: bytes and run are allowed.
    Understood obey(const std::string& line, bool may_drive);
    [[nodiscard]] std::uint64_t run_until() const { return run_until_; }

  private:
    Controller& controller_;
    std::uint64_t run_until_ = 0;
};

/// Lamps, boots and, if asked for, sent bytes since the last call, in order of their cycles within each kind.
void tell(Controller& controller, std::FILE* out);
void tell_sent(Controller& controller, std::FILE* out);

}  // namespace board
