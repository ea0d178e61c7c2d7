// Where an evening's sessions are kept: the store, and for those whose results are the evening's only the evening's own
// file. One journal for the engine, which need not know of it; the evening's own journal stands in the store.
//
// Owned by a command; used on the engine's thread, and before it starts. The stores must outlive it. Fails as they do.
#pragma once

#include <map>
#include <optional>
#include <set>
#include <vector>

#include "core/score/journal.hpp"
#include "store/store.hpp"

namespace breakstep {

class EveningStores final : public Journal {
  public:
    explicit EveningStores(Store& store) : store_(store) {}
    /// From now on this athlete's sessions go into `tonight`.
    void keep_apart(AthleteId athlete, Store& tonight);

    void append(SessionId session, std::span<const JournalRecord> records) override;
    void append_evening(EveningId evening, std::span<const evening::EveningRecord> records) override;
    void keep(SessionId session, const RepResult& result) override;
    void keep_totals(SessionId session, const SessionTotals& totals) override;
    [[nodiscard]] std::int64_t committed(SessionId session) const override;
    [[nodiscard]] std::optional<Error> failure() const override;

    /// Of both, in no order; each is found again by its id from then on.
    [[nodiscard]] Expected<std::vector<SessionSummary>> sessions();
    [[nodiscard]] Expected<std::int64_t> read_records(SessionId session,
                                                      const std::function<void(const JournalRecord&)>& each) const;
    [[nodiscard]] Store& store() { return store_; }

  private:
    [[nodiscard]] Store& home_of(SessionId session) const;

    Store& store_;
    Store* tonight_ = nullptr;
    std::set<AthleteId> apart_;
    std::set<SessionId> in_tonight_;
};

}  // namespace breakstep
