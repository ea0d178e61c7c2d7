// breakstep_board: the rig's real firmware on a simulated controller. COMMANDS.md says how it is spoken to.
#include <cstdlib>
#include <cstring>
#include <exception>
#include <fstream>
#include <iostream>
#include <iterator>
#include <string>

#include "commands.hpp"
#include "paced.hpp"

namespace {

struct Options {
    std::string firmware = BREAKSTEP_FIRMWARE;
    std::string memory, script;
    std::uint64_t seed = 1;
    double drift = 0;
    bool pty = false, understood = true;
};

Options read_options(int count, char** words) {
    Options options;
    for (int i = 1; i < count; ++i) {
        const std::string word = words[i];
        const bool more = i + 1 < count;
        if (word == "--pty") {
            options.pty = true;
        } else if (word == "--firmware" && more) {
            options.firmware = words[++i];
        } else if (word == "--memory" && more) {
            options.memory = words[++i];
        } else if (word == "--script" && more) {
            options.script = words[++i];
        } else if (word == "--seed" && more) {
            options.seed = std::strtoull(words[++i], nullptr, 10);
        } else if (word == "--drift" && more) {
            options.drift = std::strtod(words[++i], nullptr);
        } else {
            options.understood = false;
        }
    }
    return options;
}

int run_in_lock_step(board::Controller& controller) {
    board::Commands commands(controller);
    std::string line;
    while (std::getline(std::cin, line)) {
        switch (commands.obey(line, true)) {
            case board::Understood::yes:
                break;
            case board::Understood::quit:
                return 0;
            case board::Understood::no:
                std::printf("wrong %s\n", line.c_str());
                return 2;
            case board::Understood::run:
                controller.run(commands.run_until(), true);
                board::tell(controller, stdout);
                board::tell_sent(controller, stdout);
                std::printf("at %llu\n", static_cast<unsigned long long>(controller.cycle()));
                std::fflush(stdout);
                break;
        }
    }
    return 0;
}

int run(const Options& options) {
    board::Controller controller(options.firmware, options.seed);
    if (std::ifstream memory(options.memory, std::ios::binary); !options.memory.empty() && memory) {
        controller.set_memory({std::istreambuf_iterator<char>(memory), std::istreambuf_iterator<char>()});
    }
    if (!options.script.empty()) {
        std::ifstream script(options.script);
        board::Commands commands(controller);
        std::string line;
        if (!script) throw std::runtime_error("cannot read the script " + options.script);
        while (std::getline(script, line)) {
            if (commands.obey(line, false) != board::Understood::yes) {
                throw std::runtime_error("the script has a line that is not a command: " + line);
            }
        }
    }
    const int code = options.pty ? board::run_paced(controller, options.drift) : run_in_lock_step(controller);
    std::printf("deepest %zu\n", controller.deepest_receiver());
    if (!options.memory.empty()) {
        const auto bytes = controller.memory();
        std::ofstream memory(options.memory, std::ios::binary);
        memory.write(reinterpret_cast<const char*>(bytes.data()), static_cast<std::streamsize>(bytes.size()));
        if (!memory) throw std::runtime_error("cannot write " + options.memory);
    }
    return code;
}

}  // namespace

int main(int count, char** words) {
    const Options options = read_options(count, words);
    if (!options.understood) {
        std::fputs(
            "usage: breakstep_board [--firmware FILE] [--seed N] [--memory FILE] [--script FILE] [--pty [--drift "
            "PPM]]\n",
            stderr);
        return 2;
    }
    try {
        return run(options);
    } catch (const std::exception& fault) {
        std::fprintf(stderr, "breakstep_board: %s\n", fault.what());
        return 1;
    }
}
