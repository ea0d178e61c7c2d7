#include "evening/hall.hpp"

#include <algorithm>

#include "devices/serial/serial_port.hpp"

namespace breakstep::tests {
namespace {

constexpr Duration walk = 1200ms, change = 3300ms, seen_after = 5s;
constexpr double out_of_turn_share = 0.25;

std::string name_after(const std::string& line, const std::string& words) {
    const auto at = line.find(words);
    if (at == std::string::npos) return "";
    const auto from = at + words.size();
    return line.substr(from, line.find(':', from) - from);
}

}  // namespace

Hall::Hall(SimulatedRig& rig, std::vector<std::string> call_signs, std::uint64_t seed)
    : rig_(rig), call_signs_(std::move(call_signs)), random_(seed, 0x6b696c6c) {}

void Hall::note_truths() {
    rig_.post([this](SimulatedTarget& target, HostTime) {
        const std::lock_guard lock(lock_);
        target.rig().take_truths(truths_);
    });
}

void Hall::step_up(const std::string& who, HostTime) {
    if (who == standing_) return;
    standing_ = who;
    const auto known = find_athlete(who);
    const AthleteSettings settings{known ? *known : typical_athlete(Level::intermediate), {}, random_.next()};
    // On the rig's own thread, so that no blow falls between the two.
    rig_.post([this, settings, who](SimulatedTarget& target, HostTime at) {
        const std::lock_guard lock(lock_);
        target.rig().take_truths(truths_);
        stood_.emplace_back(at, who);
        target.set_athlete(at, settings);
    });
}

void Hall::step_back(HostTime) {
    standing_.clear();
    rig_.post([this](SimulatedTarget& target, HostTime at) {
        const std::lock_guard lock(lock_);
        target.rig().take_truths(truths_);
        stood_.emplace_back(at, "");
        target.no_athlete(at);
    });
}

std::string Hall::another_than(const std::string& who) {
    const std::string& other = call_signs_[random_.below(static_cast<std::uint32_t>(call_signs_.size()))];
    return other == who ? "" : other;
}

void Hall::program_left() {
    const bool unsaid = !called_.empty() && !standing_.empty() && standing_ != called_ && !coach_said_;
    if (unsaid) {
        const std::lock_guard lock(lock_);
        if (!stood_.empty() && stood_.back().second == standing_) stood_.back().second = called_;
        standing_ = called_;
    }
    called_.clear();
    agenda_.clear();
    awaits_answer_ = false;
}

void Hall::heard(const std::string& line, HostTime now) {
    if (line.starts_with("  taken") || line.starts_with("  refused") || line.starts_with("  too late"))
        awaits_answer_ = false;
    if (const std::string who = name_after(line, "At the rig: "); !who.empty()) {
        called_ = who;
        coach_said_ = false;
        next_strike_.reset();
        std::string steps_up = who;
        if (random_.uniform(0, 1) < out_of_turn_share)
            if (const std::string other = another_than(who); !other.empty()) {
                steps_up = other;
                ++out_of_turn_;
            }
        if (standing_ != steps_up) step_back(now);
        agenda_.emplace(now + walk, [this, steps_up](HostTime at) {
            step_up(steps_up, at);
            return std::string();
        });
        if (steps_up != who)
            agenda_.emplace(now + walk + seen_after, [this, who, steps_up](HostTime) {
                if (called_ != who || standing_ != steps_up) return std::string();
                awaits_answer_ = coach_said_ = true;
                return "o" + steps_up + "\n";
            });
    }
    if (const std::string who = name_after(line, "Next: "); !who.empty()) {
        next_ = who;
        next_strike_ = now + change;
    }
}

std::string Hall::due(HostTime now) {
    note_truths();
    std::string typed;
    while (!agenda_.empty() && agenda_.begin()->first <= now) {
        const auto deed = std::move(agenda_.begin()->second);
        agenda_.erase(agenda_.begin());
        typed += deed(now);
    }
    if (next_strike_ && *next_strike_ <= now) {
        if (!next_.empty()) step_up(next_, now);
        rig_.post([](SimulatedTarget& target, HostTime at) { target.rig().strike(at, PadRole::low_right, 0.4); });
        next_strike_ = now + change;
    }
    return typed;
}

void Hall::close() {
    next_strike_.reset();
    agenda_.clear();
    step_back(host_now());
}

std::string Hall::stood_at(HostTime at) const {
    std::string there;
    for (const auto& [from, who] : stood_)
        if (from <= at) there = who;
    return there;
}

std::vector<Hall::Blow> Hall::blows() {
    const std::lock_guard lock(lock_);
    std::vector<Blow> all;
    for (const RigTruth& truth : truths_)
        if (truth.event.type == WIRE_PAD_HIT) all.push_back({truth, stood_at(truth.at)});
    return all;
}

}  // namespace breakstep::tests
