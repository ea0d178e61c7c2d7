// The commands that are harmed, each with the folder that it finds, and what may stand there however it ends. Values
// only; sweep.cpp runs them.
#pragma once

#include <filesystem>
#include <functional>
#include <string>
#include <vector>

namespace breakstep::harm {

/// A file that the command may change. Its content must be the old one or the new one.
struct Watched {
    std::string name;
    bool is_store = true;
    std::vector<std::string> also = {};  ///< contents in between that are whole, too
};

struct Scenario {
    std::string name;
    std::string arguments;
    /// Fills the folder in which the command is to run. Fails by a text that says why.
    std::function<std::string(const std::filesystem::path& folder)> prepare;
    std::vector<Watched> watched;
    std::vector<int> codes_again = {0};  ///< that the same command may end with afterwards, undisturbed
    /// What else must hold in the folder, old or new; "" if it does.
    std::function<std::string(const std::filesystem::path& folder)> holds = {};
};

[[nodiscard]] std::vector<Scenario> all_scenarios();

}  // namespace breakstep::harm
