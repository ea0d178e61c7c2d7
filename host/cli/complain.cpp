#include <iostream>

#include "cli/commands.hpp"

namespace breakstep {

int complain(const Error& error, ExitCode code) {
    std::cerr << "breakstep: " << error.text() << '\n';
    return code;
}

int complain(const Error& error) {
    switch (error.kind) {
        case ErrorKind::bad_input:
        case ErrorKind::not_found:
            return complain(error, exit_bad_input);
        case ErrorKind::no_space:
        case ErrorKind::damaged:
            return complain(error, exit_not_kept);
        case ErrorKind::in_use:
        case ErrorKind::device:
        case ErrorKind::incompatible:
        case ErrorKind::system:
            return complain(error, exit_failed);
    }
    return exit_failed;
}

}  // namespace breakstep
