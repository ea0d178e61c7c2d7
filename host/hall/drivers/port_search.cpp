#include "hall/drivers/port_search.hpp"

#include <algorithm>
#include <filesystem>
#include <system_error>
#include <utility>

namespace breakstep {
namespace {

constexpr Duration first_pause = 250ms, longest_pause = 2s;
// A port just plugged in belongs to root until its rules have run.
constexpr Duration refusal_grace = 1s;
// A rig that comes and goes more often than this is one trouble, not many.
constexpr Duration steady_after = 5s;

std::string device_of(const std::string& path) {
    std::error_code missing;
    const std::filesystem::path real = std::filesystem::canonical(path, missing);
    return missing ? path : real.string();
}

}  // namespace

std::string without_a_rig() {
    return "plug the rig in, name its port with --rig PORT (a rig on a pseudo-terminal is not searched for, only "
           "named), "
           "or practise without one: `breakstep drill NAME --rig simulated`";
}

PortSearch::PortSearch(std::string named, Duration patience, ListPorts list)
    : named_(std::move(named)), patience_(patience), list_(std::move(list)), pause_(first_pause) {}

std::optional<std::string> PortSearch::next(const std::string& open_now) {
    if (!in_round_) {
        in_round_ = true;
        round_.clear();
        const std::string taken = open_now.empty() ? "" : device_of(open_now);
        const auto add = [&](const std::string& path) {
            if (!path.empty() && device_of(path) != taken &&
                std::find(round_.begin(), round_.end(), path) == round_.end())
                round_.push_back(path);
        };
        add(last_path_);
        add(named_);
        if (named_.empty() || answered_once_)
            if (const auto ports = list_())
                for (const PortInfo& each : *ports) {
                    add(each.path);
                    if (each.usb_vendor < 0) plain_ports_.insert(each.path);
                }
    }
    if (round_.empty()) {
        in_round_ = false;
        rounds_done_ = true;
        return std::nullopt;
    }
    std::string path = std::move(round_.front());
    round_.pop_front();
    return path;
}

PortClaim PortSearch::claim(const std::string& path) const {
    return path == named_ && !ended_once_ ? PortClaim::named : PortClaim::found;
}

void PortSearch::opened(const std::string& path) {
    last_path_ = path;
    refused_since_.reset();
}

void PortSearch::refused(const std::string& path, const Error& why, HostTime now) {
    if (why.kind == ErrorKind::not_found)
        refused_since_.reset();
    else if (!refused_since_)
        refused_since_ = now;
    if (named_.empty() && (why.kind == ErrorKind::not_found || plain_ports_.contains(path))) return;
    refusal_ = why;
}

void PortSearch::mute(const std::string& path, std::uint64_t damaged_bytes, std::uint64_t bytes) {
    if (named_.empty() && plain_ports_.contains(path)) return;
    refusal_ = Error{ErrorKind::device, "nothing on " + path + " answers as a rig",
                     "is it the right port, and is the rig powered? `breakstep rigs list` shows the ports"};
    if (damaged_bytes == 0) return;
    const std::uint64_t share = (100 * damaged_bytes + bytes / 2) / bytes;
    refusal_->what += "; " + std::to_string(damaged_bytes) + " of the " + std::to_string(bytes) + " bytes that came (" +
                      std::to_string(share) + " %) belong to damaged messages";
    refusal_->to_do = "if it is the rig's port, look at the cable, its plugs and its length";
}

void PortSearch::answered(HostTime now) {
    answered_once_ = true;
    answers_since_ = now;
    in_round_ = false;
}

void PortSearch::lost(HostTime now) {
    steady(now);
    answers_since_.reset();
}

void PortSearch::steady(HostTime now) {
    if (!answers_since_ || now - *answers_since_ < steady_after) return;
    pause_ = first_pause;
    said_.clear();
}

Duration PortSearch::pause(HostTime now) {
    steady(now);
    return std::exchange(pause_, std::min(2 * pause_, longest_pause));
}

std::optional<Error> PortSearch::given_up(HostTime now) const {
    if (answered_once_) return std::nullopt;
    if (!named_.empty() && refused_since_ && now - *refused_since_ >= refusal_grace) return refusal_;
    // Every port gets its turn.
    if (now - began_ < patience_ || !rounds_done_) return std::nullopt;
    return refusal_.value_or(Error{ErrorKind::not_found, "no rig was found", without_a_rig()});
}

bool PortSearch::first_time(const std::string& text, HostTime now) {
    steady(now);
    return said_.insert(text).second;
}

}  // namespace breakstep
