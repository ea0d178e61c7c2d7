#include "devices/serial/controlling_terminal.hpp"

#include <sys/sysmacros.h>

#include <algorithm>
#include <cctype>
#include <filesystem>
#include <fstream>
#include <sstream>
#include <string>

namespace breakstep {
namespace {

// proc(5), stat: pid (comm) state ppid pgrp session tty_nr. The name in parentheses may hold anything.
dev_t terminal_of(const std::filesystem::path& process) {
    std::ifstream file(process / "stat");
    std::string text;
    std::getline(file, text, '\0');
    const std::size_t name_end = text.rfind(')');
    if (name_end == std::string::npos) return 0;
    std::istringstream rest(text.substr(name_end + 1));
    std::string state;
    int parent = 0, group = 0, session = 0;
    unsigned packed = 0;
    if (!(rest >> state >> parent >> group >> session >> packed)) return 0;
    // Bits 31 to 20 and 7 to 0 are the minor number, 19 to 8 the major one.
    return makedev((packed >> 8U) & 0xfffU, (packed & 0xffU) | ((packed >> 12U) & 0xfff00U));
}

}  // namespace

bool controls_a_process(dev_t terminal) {
    std::error_code none;
    for (std::filesystem::directory_iterator each("/proc", none), end; !none && each != end; each.increment(none)) {
        const std::string name = each->path().filename().string();
        const bool is_process = std::all_of(name.begin(), name.end(), [](unsigned char c) { return std::isdigit(c); });
        if (is_process && terminal_of(each->path()) == terminal) return true;
    }
    return false;
}

}  // namespace breakstep
