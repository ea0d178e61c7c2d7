#include "core/error.hpp"

#include <cstdio>
#include <cstdlib>

namespace breakstep {

void broken_invariant(const char* what) {
    std::fprintf(stderr,
                 "breakstep stops: %s; this is a fault of the program, please report it with the session file\n", what);
    std::abort();
}

}  // namespace breakstep
