// What a club keeps, read from its server instead of from a store on this computer: for a coach's login or a laptop's.
//
// Everything is read as it stood when it was opened, in one transaction that changes nothing, so that numbers hold:
// sessions are numbered in the order in which they began. Windows, counts and the choice of the club's rows are the
// server's work; the fold over them is this computer's, the same as over a store. One thread; a callback of
// read_rep_facts must not read. Fails as the connection does, and (damaged) for what can't be read.
#pragma once

#include <memory>

#include "club/sharing/connection.hpp"
#include "store/kept.hpp"

namespace breakstep::sharing {

class ServerKept final : public Kept {
  public:
    [[nodiscard]] static Expected<std::unique_ptr<ServerKept>> open(const ServerUrl& url);

    [[nodiscard]] std::string place() const override;
    [[nodiscard]] Expected<std::vector<SessionSummary>> sessions() const override;
    [[nodiscard]] Expected<std::int64_t> read_records(
        SessionId session, const std::function<void(const JournalRecord&)>& each) const override;
    [[nodiscard]] Expected<std::vector<RepResult>> reps(SessionId session) const override;
    [[nodiscard]] Expected<std::optional<SessionTotals>> totals(SessionId session) const override;
    [[nodiscard]] Expected<std::vector<TermSession>> term_sessions() const override;
    [[nodiscard]] Expected<std::int64_t> read_rep_facts(
        const std::function<void(std::int64_t number, const progress::RepFact&)>& each) const override;
    [[nodiscard]] Expected<std::vector<Athlete>> athletes() const override;
    [[nodiscard]] Expected<std::optional<Athlete>> find_athlete(std::string_view call_sign) const override;
    [[nodiscard]] Expected<std::vector<Measure>> measures() const override;

  private:
    ServerKept(Connection connection, std::string club) : connection_(std::move(connection)), club_(std::move(club)) {}
    template <class Read>
    [[nodiscard]] Expected<void> rows_of(const std::string& sql, std::initializer_list<Value> values,
                                         Read&& read) const;

    mutable Connection connection_;
    std::string club_;
};

}  // namespace breakstep::sharing
