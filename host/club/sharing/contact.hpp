// A laptop's contact with its club's server: what is settled before sessions are copied either way. Who was erased
// anywhere is erased here and there; who was joined is joined; athletes' fields, consent among them, are merged; who
// may not be shared is taken off the server.
//
// Main thread. The store is read as it is; what the contact changes in it goes through `Local`, which may say that the
// store can't be written now (an evening is running): then it is told, and done at the next contact. Fails as the
// connection does; nothing that was settled before is undone.
#pragma once

#include <chrono>
#include <cstdint>
#include <functional>
#include <optional>
#include <string>
#include <unordered_map>
#include <unordered_set>
#include <vector>

#include "club/sharing/athlete_merge.hpp"
#include "club/sharing/connection.hpp"
#include "store/store.hpp"

namespace breakstep::sharing {

/// What a contact changes here.
struct Local {
    /// The store for writing, opened at the first need. Fails (in_use) while another program writes to it.
    std::function<Expected<Store*>()> for_writing;
    /// Erases an athlete here with every copy that is known.
    std::function<Expected<void>(Store&, const Athlete&)> erase;
    std::string today;  ///< ISO, by this computer's clock: whose consent holds
};

struct Twins {
    std::string call_sign;
    AthleteId here{}, there{};
};

struct ContactReport {
    std::int64_t erased_here = 0, erased_there = 0, joined_here = 0, joined_there = 0;
    std::int64_t athletes_sent = 0, athletes_taken = 0, athletes_withdrawn = 0;
    std::int64_t not_shared = 0;       ///< athletes without a yes to share
    std::vector<Twins> twins;          ///< two athletes of one call-sign: for the coach to join
    std::vector<std::string> put_off;  ///< what could not be done here now, and why
};

/// An open contact.
struct Contact {
    Connection connection;
    std::int64_t club = 0;
    std::int64_t server_unix_ms = 0;
    std::unordered_map<std::uint64_t, AthleteId> called;  ///< who was joined to whom
    std::unordered_map<std::uint64_t, Athlete> shared;    ///< here, with a yes to share that holds
    std::unordered_set<std::uint64_t> erased;             ///< anywhere

    [[nodiscard]] AthleteId now_called(AthleteId athlete) const {
        const auto found = called.find(static_cast<std::uint64_t>(athlete));
        return found == called.end() ? athlete : found->second;
    }
};

/// Looks at the server's version, whose login it is, and both clocks.
[[nodiscard]] Expected<Contact> begin_contact(Connection connection);
/// `take_new`: athletes that are unknown here are taken too (fetch).
[[nodiscard]] Expected<void> settle(Contact& contact, const Store& store, const Local& local, bool take_new,
                                    ContactReport& report);

/// Runs `work` on a connection, and again on a new one when it was cut or came into another's way, until it is through.
/// Gives up, with the last failure, when `patience` has passed without `progress` being called (a tenth of it before
/// the first connection), at once for what trying again won't mend.
[[nodiscard]] Expected<void> with_patience(
    const ServerUrl& url, std::chrono::milliseconds patience,
    const std::function<Expected<void>(Contact&, const std::function<void()>& progress)>& work);

}  // namespace breakstep::sharing
