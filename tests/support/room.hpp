// A room of its own for a test of the commands: a folder that goes away, in which the program runs as it is typed.
// Needs BREAKSTEP_PROGRAM.
#pragma once

#include <sys/wait.h>
#include <unistd.h>

#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>

#include "places.hpp"

namespace breakstep::testing {

struct Said {
    int code = -1;
    std::string out, err;
};

/// A folder of its own for one test, with the environment pointing into it.
struct Room {
    Room() {
        char name[] = "/tmp/breakstep-commands-XXXXXX";
        folder = mkdtemp(name);
    }
    ~Room() {
        std::error_code ignored;
        std::filesystem::remove_all(folder, ignored);
    }
    [[nodiscard]] std::string file(const std::string& name) const { return (folder / name).string(); }
    void write(const std::string& name, const std::string& text) const { std::ofstream(folder / name) << text; }

    [[nodiscard]] Said run(const std::string& arguments) const {
        const std::string command = "cd " + folder.string() + " && HOME=" + folder.string() +
                                    " XDG_CONFIG_HOME= XDG_DATA_HOME= BREAKSTEP_CONFIG= timeout 120 " +
                                    BREAKSTEP_PROGRAM + " " + arguments + " >out.txt 2>err.txt </dev/null";
        const int status = std::system(command.c_str());
        return {WIFEXITED(status) ? WEXITSTATUS(status) : -1, text("out.txt"), text("err.txt")};
    }
    [[nodiscard]] std::string text(const std::string& name) const {
        std::ifstream in(folder / name);
        return {std::istreambuf_iterator<char>(in), {}};
    }

    std::filesystem::path folder;
};

inline bool has(const std::string& text, const std::string& part) { return text.find(part) != std::string::npos; }

}  // namespace breakstep::testing
