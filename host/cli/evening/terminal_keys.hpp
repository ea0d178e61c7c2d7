// Keys of the terminal without waiting for them: set to give them singly while this lives, and set back. Where standard
// input is no terminal its bytes are the keys, so that an evening can be typed by a script. Main thread; can't fail: a
// terminal that gives no single keys gives whole lines.
#pragma once

#include <termios.h>

#include <optional>

namespace breakstep {

class TerminalKeys {
  public:
    TerminalKeys();
    ~TerminalKeys();
    TerminalKeys(const TerminalKeys&) = delete;
    TerminalKeys& operator=(const TerminalKeys&) = delete;

    /// The next byte that was typed; nothing while there is none. An arrow or function key is dropped whole.
    [[nodiscard]] std::optional<char> next();
    [[nodiscard]] bool is_terminal() const { return is_terminal_; }

  private:
    termios before_{};
    bool is_terminal_ = false, set_ = false, ended_ = false;
};

/// Whether a byte is there, or the end.
[[nodiscard]] bool input_waits(int patience_ms);

}  // namespace breakstep
