// Runs a program and stops it at each system call that changes a file below a folder: to count these calls, to end the
// program at one of them, or to refuse it as a full disk would. By ptrace and a seccomp filter, x86-64 only: the
// kernel's own calls are seen, whatever library makes them.
//
// One program at a time, from one thread. Never throws; a program that can't be run is an outcome with code -1.
#pragma once

#include <string>
#include <vector>

namespace breakstep::harm {

struct Fault {
    enum class Kind {
        none,
        kill,    ///< the program ends in front of call number `at`
        refuse,  ///< that call alone fails: no space left
        full     ///< from that call on everything that would grow a file or make one fails so
    };
    Kind kind = Kind::none;
    int at = 0;  ///< counted from 1
};

struct Outcome {
    int calls = 0;        ///< that change a file below the folder, as far as it came
    int code = -1;        ///< the program's exit code, -1 if it was ended
    int signal = 0;       ///< that ended it: SIGKILL where we did
    std::string said;     ///< stdout and stderr
    std::string at_call;  ///< what the fault met: "rename .part-a.db"
};

/// `words`: the program and its arguments. It runs in `folder`, with HOME there.
[[nodiscard]] Outcome run_traced(const std::vector<std::string>& words, const std::string& folder, Fault fault);

}  // namespace breakstep::harm
