// The live driver's search for a rig that is not there: which path is tried next, after how long a pause, when it is
// given up, and what was said of it already. It opens nothing and reads no clock; owned by the driver, on its thread.
//
// A path that was named is tried alone until a rig has answered once; afterwards the rig may be back under any name:
// the last one comes first, then the named one, then the ports of this computer. Pseudo-terminals are never searched
// for.
#pragma once

#include <cstdint>
#include <deque>
#include <functional>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "core/error.hpp"
#include "core/time.hpp"
#include "devices/serial/serial_port.hpp"

namespace breakstep {

/// What to try where no rig is found: one sentence, for every command.
[[nodiscard]] std::string without_a_rig();

class PortSearch {
  public:
    using ListPorts = std::function<Expected<std::vector<PortInfo>>()>;
    /// `named` "": every port of this computer. `patience`: for the first answer.
    PortSearch(std::string named, Duration patience, ListPorts list = candidate_ports);

    void begin(HostTime now) { began_ = now; }
    /// The next path of this round; nullopt at its end (the next call begins another). `open_now` is left out.
    [[nodiscard]] std::optional<std::string> next(const std::string& open_now);
    [[nodiscard]] PortClaim claim(const std::string& path) const;

    void opened(const std::string& path);
    void refused(const std::string& path, const Error& why, HostTime now);
    /// It is open, and nothing on it answers; of the bytes that came so many were of damaged frames.
    void mute(const std::string& path, std::uint64_t damaged_bytes = 0, std::uint64_t bytes = 0);
    /// It was open, and ended.
    void ended() { ended_once_ = true; }
    /// A rig answers on the port that is open.
    void answered(HostTime now);
    /// Tells whether anything answered before; then the search has no end.
    [[nodiscard]] bool answered_once() const { return answered_once_; }
    /// The rig that answered is there no more.
    void lost(HostTime now);

    /// Before the next look: 250 ms, then twice as long up to 2 s, until a rig has answered for a while.
    [[nodiscard]] Duration pause(HostTime now);
    /// Why no rig will be found, once that is settled.
    [[nodiscard]] std::optional<Error> given_up(HostTime now) const;
    /// True once for each text, until a rig has answered for a while.
    [[nodiscard]] bool first_time(const std::string& text, HostTime now);
    [[nodiscard]] const std::string& last_path() const { return last_path_; }

    /// The answer a host must wait for (PROTOCOL.md 1: 5 s).
    static constexpr Duration answer_patience = 5s;

  private:
    void steady(HostTime now);

    const std::string named_;
    const Duration patience_;
    const ListPorts list_;
    HostTime began_{};
    std::deque<std::string> round_;
    bool in_round_ = false, rounds_done_ = false;
    std::string last_path_;
    std::set<std::string> plain_ports_;  ///< no USB ports: what they refuse says nothing about a rig
    std::optional<Error> refusal_;
    std::optional<HostTime> refused_since_, answers_since_;
    bool ended_once_ = false, answered_once_ = false;
    Duration pause_;
    std::set<std::string> said_;
};

}  // namespace breakstep
