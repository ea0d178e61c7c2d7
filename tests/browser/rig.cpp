// browser_rig SEED: a simulated rig with a partner in the box, outliving the program that speaks with it. Prints "rig
// at PATH", then "contact MILLISECONDS" (of the wall clock) for each blow on a pad, by the rig's own truth. What the
// evening says is read line by line from stdin: whoever is called steps up, and who is next strikes for the task. Ends
// with its input.
#include <fcntl.h>
#include <fmt/format.h>
#include <poll.h>
#include <unistd.h>

#include <array>
#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <functional>
#include <map>
#include <mutex>
#include <string>

#include "devices/simulated/simulate_rig.hpp"

using namespace breakstep;

namespace {

constexpr Duration walk = 1200ms, change = 3300ms;

HostTime steady_now() {
    return HostTime(std::chrono::duration_cast<Duration>(std::chrono::steady_clock::now().time_since_epoch()));
}

std::string name_after(const std::string& line, const std::string& words) {
    const auto at = line.find(words);
    if (at == std::string::npos) return "";
    const auto from = at + words.size();
    return line.substr(from, line.find(':', from) - from);
}

class Hall {
  public:
    Hall(SimulatedRig& rig, std::uint64_t seed) : rig_(rig), random_(seed, 0x62726f77) {
        PartnerSettings obedient;
        obedient.seed = random_.next();
        obedient.disobeys = obedient.ignores = obedient.goes_early = obedient.unasked = 0;
        obedient.second_lifts = obedient.impossible = 0;
        rig_.post([obedient](SimulatedTarget& target, HostTime now) { target.set_partner(now, obedient); });
    }
    void heard(const std::string& line, HostTime now) {
        if (const std::string who = name_after(line, "At the rig: "); !who.empty()) {
            next_strike_.reset();
            agenda_.emplace(now + walk, [this, who] { step_up(who); });
        }
        if (const std::string who = name_after(line, "Next: "); !who.empty()) {
            next_ = who;
            next_strike_ = now + change;
        }
    }
    void due(HostTime now) {
        tell_contacts();
        while (!agenda_.empty() && agenda_.begin()->first <= now) {
            const auto deed = std::move(agenda_.begin()->second);
            agenda_.erase(agenda_.begin());
            deed();
        }
        if (!next_strike_ || *next_strike_ > now) return;
        step_up(next_);
        rig_.post([](SimulatedTarget& target, HostTime at) { target.rig().strike(at, PadRole::low_right, 0.4); });
        next_strike_ = now + change;
    }

  private:
    void step_up(const std::string& who) {
        if (who == standing_) return;
        standing_ = who;
        const auto known = find_athlete(who);
        rig_.set_athlete(AthleteSettings{known ? *known : typical_athlete(Level::intermediate), {}, random_.next()});
    }
    void tell_contacts() {
        rig_.post([](SimulatedTarget& target, HostTime now) {
            std::vector<RigTruth> truths;
            target.rig().take_truths(truths);
            const auto wall = std::chrono::system_clock::now().time_since_epoch();
            for (const RigTruth& truth : truths) {
                if (truth.event.type != WIRE_PAD_HIT) continue;
                const auto at = std::chrono::duration<double, std::milli>(wall - (now - truth.at));
                std::printf("contact %.2f\n", at.count());
                std::fflush(stdout);
            }
        });
    }

    SimulatedRig& rig_;
    Random random_;
    std::string standing_, next_;
    std::optional<HostTime> next_strike_;
    std::multimap<HostTime, std::function<void()>> agenda_;
};

}  // namespace

int main(int count, char** words) {
    SimulateRigOptions wanted;
    wanted.seed = count > 1 ? std::strtoull(words[1], nullptr, 10) : 1;
    wanted.partner = true;
    auto rig = SimulatedRig::open(wanted);
    if (!rig) {
        std::fprintf(stderr, "%s\n", rig.error().text().c_str());
        return 1;
    }
    std::printf("rig at %s\n", rig->path().c_str());
    std::fflush(stdout);
    Hall hall(*rig, wanted.seed);
    ::fcntl(STDIN_FILENO, F_SETFL, O_NONBLOCK);
    std::string rest;
    for (;;) {
        pollfd in{STDIN_FILENO, POLLIN, 0};
        ::poll(&in, 1, 5);
        std::array<char, 4096> bytes{};
        const ssize_t read =
            (in.revents & (POLLIN | POLLHUP)) != 0 ? ::read(STDIN_FILENO, bytes.data(), bytes.size()) : -1;
        if (read == 0) return 0;
        if (read > 0) rest.append(bytes.data(), static_cast<std::size_t>(read));
        for (auto end = rest.find('\n'); end != std::string::npos; end = rest.find('\n')) {
            hall.heard(rest.substr(0, end), steady_now());
            rest.erase(0, end + 1);
        }
        hall.due(steady_now());
    }
}
