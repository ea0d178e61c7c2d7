// Sharing is copying: what the server lacks of this store's sessions goes there, what this store lacks of the server's
// comes here, each record once, however often and from however many laptops at once.
//
// A session is known by its id, a record by its position in it; both grow at their end only. The server says how far a
// session has come there; a batch of sessions goes on from that in one transaction, so that a cut at any byte leaves a
// batch whole or not there. Results travel with the version of the fold that made them, and take the place of older
// ones.
//
// Main thread; fails as contact.hpp says, and (damaged) where the same record differs here and there.
#pragma once

#include <chrono>
#include <cstdint>
#include <map>
#include <string>

#include "club/sharing/contact.hpp"

namespace breakstep::sharing {

struct CopyReport {
    ContactReport contact;
    std::int64_t sessions = 0, events = 0, reps = 0, measures = 0;  ///< copied
    std::int64_t sessions_at_home = 0;  ///< of nobody, or of athletes without a yes to share
    std::int64_t connections = 0;       ///< how many it took
};

/// What a process that shares again and again remembers, so that it reads no results again that did not change.
struct ShareMemory {
    struct Seen {
        SessionState state;
        std::int64_t results_sum = 0;
    };
    std::map<SessionId, Seen> sessions;
};

struct CopyOptions {
    ServerUrl url;
    std::chrono::milliseconds patience{20'000};
    std::size_t batch_bytes = std::size_t{2} << 20U;  ///< what is sent or taken in one transaction, about
};

[[nodiscard]] Expected<CopyReport> share(const Store& store, const Local& local, const CopyOptions& options,
                                         ShareMemory& memory);
[[nodiscard]] Expected<CopyReport> fetch(const Store& store, const Local& local, const CopyOptions& options);

/// Over results as they are shared: equal for equal results in every store and every version.
[[nodiscard]] std::int64_t results_sum(const std::string& rep_lines, const std::string& totals_line);

}  // namespace breakstep::sharing
