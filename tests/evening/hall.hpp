// A hall of invented athletes around a simulated rig whose pseudo-terminal outlives the program: they follow what the
// program says, as people in a hall do, and now and then another one steps up than was called, which the coach sees in
// the set. Who stood where, and whose each blow was, is noted. Single thread but for the rig's own.
#pragma once

#include <functional>
#include <map>
#include <mutex>
#include <optional>
#include <string>
#include <vector>

#include "core/random.hpp"
#include "devices/simulated/simulate_rig.hpp"
#include "tools/evening_audit.hpp"

namespace breakstep::tests {

class Hall {
  public:
    Hall(SimulatedRig& rig, std::vector<std::string> call_signs, std::uint64_t seed);

    /// A line of the program; answers what is to be typed, "" for nothing.
    void heard(const std::string& line, HostTime now);
    /// What is to be typed by now.
    [[nodiscard]] std::string due(HostTime now);
    /// The program is gone: whoever stands there stands there still. What the coach had not said by then nobody can
    /// know: that set counts as the called one's.
    void program_left();
    /// The coach has said something and waits for the answer.
    [[nodiscard]] bool awaits_answer() const { return awaits_answer_; }
    void program_is_back(HostTime now) { next_strike_ = now + 3s; }
    /// Everybody goes home.
    void close();

    /// By call-sign; blows of nobody are of "".
    struct Blow {
        RigTruth truth;
        std::string by;
    };
    [[nodiscard]] std::vector<Blow> blows();
    [[nodiscard]] const std::vector<std::pair<HostTime, std::string>>& stood() const { return stood_; }
    [[nodiscard]] int out_of_turn() const { return out_of_turn_; }

  private:
    void step_up(const std::string& who, HostTime now);
    void step_back(HostTime now);
    void note_truths();
    [[nodiscard]] std::string stood_at(HostTime at) const;
    [[nodiscard]] std::string another_than(const std::string& who);

    SimulatedRig& rig_;
    std::vector<std::string> call_signs_;
    Random random_;
    std::string called_, standing_, next_, told_wrong_;
    std::vector<std::pair<HostTime, std::string>> stood_;
    std::multimap<HostTime, std::function<std::string(HostTime)>> agenda_;
    std::optional<HostTime> next_strike_;
    int out_of_turn_ = 0;
    bool awaits_answer_ = false, coach_said_ = false;
    std::mutex lock_;
    std::vector<RigTruth> truths_;  ///< taken on the rig's thread
};

}  // namespace breakstep::tests
