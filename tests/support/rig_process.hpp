// `breakstep simulate-rig` in a process of its own, for tests of the commands. Ended by its id. Needs
// BREAKSTEP_PROGRAM.
#pragma once

#include <array>
#include <csignal>
#include <cstdio>
#include <cstdlib>
#include <string>

#include "places.hpp"

namespace breakstep::testing {

class SimulatedRigProcess {
  public:
    explicit SimulatedRigProcess(const std::string& arguments = "--minutes 2") {
        pipe_ = popen(("echo $$; exec " BREAKSTEP_PROGRAM " simulate-rig " + arguments).c_str(), "r");
        id_ = std::atoi(line().c_str());
        path = line().substr(7);  // "rig at PATH"
    }
    ~SimulatedRigProcess() {
        if (id_ > 0) kill(id_, SIGTERM);
        if (pipe_ != nullptr) pclose(pipe_);
    }
    SimulatedRigProcess(const SimulatedRigProcess&) = delete;
    SimulatedRigProcess& operator=(const SimulatedRigProcess&) = delete;
    /// For a shell that types: waits until what the program said on `file` holds `text`, then ends the rig.
    [[nodiscard]] std::string ended_after(const std::string& text, const std::string& file) const {
        return "until grep -q '" + text + "' " + file + "; do sleep 0.1; done; kill " + std::to_string(id_);
    }
    std::string path;

  private:
    std::string line() {
        std::array<char, 256> text{};
        if (pipe_ == nullptr || fgets(text.data(), text.size(), pipe_) == nullptr) return std::string(8, ' ');
        std::string read = text.data();
        while (!read.empty() && (read.back() == '\n' || read.back() == ' ')) read.pop_back();
        return read;
    }
    FILE* pipe_ = nullptr;
    pid_t id_ = 0;
};

}  // namespace breakstep::testing
