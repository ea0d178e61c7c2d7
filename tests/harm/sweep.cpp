// Kills the program in front of each system call that changes a file, refuses each as a full disk would, alone and with
// all that come after, and each that reads one as a failing disk would, in every command that matters; and looks each
// time whether what stands there is the old or the new, whether a refusal was told by the exit code, and whether the
// same command works afterwards.
//
// harm_sweep [--quick] [--only NAME]. Ends with "N passed, N failed"; exit code 0 if none failed.
#include <algorithm>
#include <cstdio>
#include <filesystem>
#include <map>
#include <sstream>
#include <string>

#include "harm/scenarios.hpp"
#include "harm/state.hpp"
#include "harm/tracer.hpp"
#include "places.hpp"

using namespace breakstep::harm;
namespace fs = std::filesystem;

namespace {

struct Counts {
    int passed = 0, failed = 0;
};

std::vector<std::string> words_of(const std::string& arguments) {
    std::vector<std::string> words{BREAKSTEP_PROGRAM};
    for (std::size_t at = 0; at < arguments.size();) {
        const std::size_t end = std::min(arguments.find(' ', at), arguments.size());
        words.push_back(arguments.substr(at, end - at));
        at = end + 1;
    }
    return words;
}

std::string content_of(const fs::path& folder, const Watched& file) {
    return file.is_store ? content_of_store(folder / file.name) : content_of_file(folder / file.name);
}

/// The first line in which they differ.
std::string difference(const std::string& now, const std::string& other) {
    std::istringstream here(now), there(other);
    std::string line, meant;
    for (int number = 1;; ++number) {
        const bool more = static_cast<bool>(std::getline(here, line));
        if (!std::getline(there, meant)) meant = "nothing";
        if (!more) line = "nothing";
        if (line != meant) return "line " + std::to_string(number) + " is \"" + line + "\", not \"" + meant + "\"";
        if (!more) return "nothing differs";
    }
}

class Sweep {
  public:
    Sweep(const Scenario& scenario, bool quick) : scenario_(scenario), quick_(quick) {}

    Counts run() {
        const std::string problem = prepare();
        if (!problem.empty()) {
            std::printf("%s: can't be prepared: %s\n", scenario_.name.c_str(), problem.c_str());
            return {0, 1};
        }
        const Outcome whole = learn();
        if (whole.calls == 0) return {0, 1};
        std::map<Fault::Kind, Counts> by_kind;
        for (const Fault::Kind kind :
             {Fault::Kind::kill, Fault::Kind::refuse, Fault::Kind::full, Fault::Kind::unread}) {
            const int calls = kind == Fault::Kind::unread ? whole.reads : whole.calls;
            // The reads of one page after another are alike.
            const int stride = quick_ ? std::max(1, calls / 3) : kind == Fault::Kind::unread ? 1 + calls / 200 : 1;
            for (int at = 1 + static_cast<int>(kind) % stride; at <= calls; at += stride) {
                const bool good = one({kind, at});
                ++(good ? by_kind[kind].passed : by_kind[kind].failed);
            }
        }
        Counts all;
        for (const auto& [kind, counts] : by_kind) {
            all.passed += counts.passed;
            all.failed += counts.failed;
        }
        const auto good = [&](Fault::Kind kind) {
            return std::to_string(by_kind[kind].passed) + " of " + std::to_string(total(by_kind[kind]));
        };
        std::printf("%-12s %4d calls, %4d reads; good: killed %s, refused %s, full %s, unread %s\n",
                    scenario_.name.c_str(), whole.calls, whole.reads, good(Fault::Kind::kill).c_str(),
                    good(Fault::Kind::refuse).c_str(), good(Fault::Kind::full).c_str(),
                    good(Fault::Kind::unread).c_str());
        std::fflush(stdout);
        return all;
    }

  private:
    static int total(const Counts& counts) { return counts.passed + counts.failed; }

    // What old and new are, and how many calls the undisturbed command makes.
    Outcome learn() {
        renew();
        for (const Watched& file : scenario_.watched) old_.push_back(content_of(place_.path(), file));
        // Looking may have put files beside: a fresh copy.
        renew();
        const Outcome outcome = run_traced(words_of(scenario_.arguments), place_.path(), {});
        if (outcome.code != 0) {
            std::printf("%s: ends with %d undisturbed: %s\n", scenario_.name.c_str(), outcome.code,
                        outcome.said.c_str());
            return {};
        }
        for (const Watched& file : scenario_.watched) new_.push_back(content_of(place_.path(), file));
        for (std::size_t i = 0; i < new_.size(); ++i)
            if (new_[i].starts_with("unreadable") && old_[i] != new_[i])
                std::printf("%s: %s: %s\n", scenario_.name.c_str(), scenario_.watched[i].name.c_str(), new_[i].c_str());
        return outcome;
    }

    // A store knows of its backups, and of what else was made from it, by absolute names: everything runs in one place,
    // which is made anew each time.
    std::string prepare() {
        std::string problem = scenario_.prepare(place_.path());
        if (problem.empty()) fs::copy(place_.path(), template_.path(), everything);
        return problem;
    }
    void renew() const {
        for (const auto& entry : fs::directory_iterator(place_.path())) fs::remove_all(entry.path());
        fs::copy(template_.path(), place_.path(), everything);
    }
    static constexpr auto everything = fs::copy_options::recursive | fs::copy_options::overwrite_existing;

    bool one(Fault fault) {
        renew();
        const Outcome outcome = run_traced(words_of(scenario_.arguments), place_.path(), fault);
        if (fault.kind == Fault::Kind::unread && outcome.code == 0 && !scenario_.says_partly.empty() &&
            outcome.said.find(scenario_.says_partly) != std::string::npos)
            return true;
        std::string wrong = judged(place_.path(), fault, outcome);
        if (wrong.empty()) wrong = judged_again(place_.path());
        if (wrong.empty()) return true;
        constexpr const char* kinds[] = {"undisturbed", "killed", "refused", "full", "unread"};
        std::printf("%s, %s at call %d (%s), code %d: %s\n    it said: %s\n", scenario_.name.c_str(),
                    kinds[static_cast<int>(fault.kind)], fault.at, outcome.at_call.c_str(), outcome.code, wrong.c_str(),
                    outcome.said.c_str());
        return false;
    }

    std::string judged(const fs::path& folder, Fault fault, const Outcome& outcome) {
        if (outcome.signal != 0 && fault.kind != Fault::Kind::kill)
            return "the program was ended by signal " + std::to_string(outcome.signal);
        if (fault.kind != Fault::Kind::kill && outcome.code != 0 &&
            outcome.said.find("breakstep: ") == std::string::npos)
            return "it failed and does not say why";
        const std::string before = scenario_.holds ? scenario_.holds(folder) : "";
        if (!before.empty()) return before;
        for (std::size_t i = 0; i < scenario_.watched.size(); ++i) {
            const Watched& file = scenario_.watched[i];
            const std::string now = content_of(folder, file);
            const bool in_between = std::find(file.also.begin(), file.also.end(), now) != file.also.end();
            if (now != old_[i] && now != new_[i] && !in_between)
                return file.name + " is neither old nor new: " + difference(now, old_[i]) + " beside the old, " +
                       difference(now, new_[i]) + " beside the new";
            if (fault.kind != Fault::Kind::kill && outcome.code == 0 && now != new_[i])
                return "it says that all is well, and " + file.name + " is not the new one";
        }
        return "";
    }

    std::string judged_again(const fs::path& folder) {
        std::string said;
        const int code = run_in(folder, scenario_.arguments, said);
        if (std::find(scenario_.codes_again.begin(), scenario_.codes_again.end(), code) == scenario_.codes_again.end())
            return "the same command again ends with " + std::to_string(code) + ": " + said;
        for (std::size_t i = 0; i < scenario_.watched.size(); ++i)
            if (content_of(folder, scenario_.watched[i]) != new_[i])
                return "after the same command again " + scenario_.watched[i].name +
                       " is not the new one; it said: " + said;
        for (const auto& entry : fs::recursive_directory_iterator(folder))
            if (entry.path().filename().string().starts_with(".part-"))
                return entry.path().string() + " is left behind; it said: " + said;
        return "";
    }

    const Scenario& scenario_;
    bool quick_;
    Folder template_, place_;
    std::vector<std::string> old_, new_;
};

}  // namespace

int main(int count, char** arguments) {
    bool quick = false;
    std::string only;
    for (int i = 1; i < count; ++i) {
        const std::string word = arguments[i];
        if (word == "--quick")
            quick = true;
        else if (word == "--only" && i + 1 < count)
            only = arguments[++i];
        else
            return std::fprintf(stderr, "harm_sweep [--quick] [--only NAME]\n"), 2;
    }
    Counts all;
    for (const Scenario& scenario : all_scenarios()) {
        if (!only.empty() && scenario.name != only) continue;
        const Counts counts = Sweep(scenario, quick).run();
        all.passed += counts.passed;
        all.failed += counts.failed;
    }
    std::printf("%d passed, %d failed\n", all.passed, all.failed);
    return all.failed == 0 && all.passed > 0 ? 0 : 1;
}
