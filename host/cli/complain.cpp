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
        case ErrorKind::damaged:
            return complain(error, exit_bad_input);
        case ErrorKind::no_space:
            return complain(error, exit_not_kept);
        case ErrorKind::in_use:
        case ErrorKind::device:
        case ErrorKind::incompatible:
        case ErrorKind::system:
            return complain(error, exit_failed);
    }
    return exit_failed;
}

int complain_of_store(const Error& error) {
    const bool of_what_was_typed = error.kind == ErrorKind::bad_input || error.kind == ErrorKind::not_found ||
                                   error.kind == ErrorKind::damaged || error.kind == ErrorKind::incompatible;
    return complain(error, of_what_was_typed ? exit_bad_input : exit_not_kept);
}

}  // namespace breakstep
