#include "hall/evening/evening_stores.hpp"

namespace breakstep {

void EveningStores::keep_apart(AthleteId athlete, Store& tonight) {
    tonight_ = &tonight;
    apart_.insert(athlete);
}

Store& EveningStores::home_of(SessionId session) const {
    return tonight_ != nullptr && in_tonight_.contains(session) ? *tonight_ : store_;
}

void EveningStores::append(SessionId session, std::span<const JournalRecord> records) {
    if (records.empty()) return;
    if (const auto* began = std::get_if<SessionBegan>(&records.front().event))
        if (apart_.contains(began->athlete)) in_tonight_.insert(session);
    home_of(session).append(session, records);
}

void EveningStores::append_evening(EveningId evening, std::span<const evening::EveningRecord> records) {
    store_.append_evening(evening, records);
}

void EveningStores::keep(SessionId session, const RepResult& result) { home_of(session).keep(session, result); }

void EveningStores::keep_totals(SessionId session, const SessionTotals& totals) {
    home_of(session).keep_totals(session, totals);
}

std::int64_t EveningStores::committed(SessionId session) const { return home_of(session).committed(session); }

std::optional<Error> EveningStores::failure() const {
    if (auto trouble = store_.failure()) return trouble;
    return tonight_ != nullptr ? tonight_->failure() : std::nullopt;
}

Expected<std::vector<SessionSummary>> EveningStores::sessions() {
    auto all = store_.sessions();
    if (!all || tonight_ == nullptr) return all;
    const auto apart = tonight_->sessions();
    if (!apart) return apart;
    for (const SessionSummary& each : *apart) {
        in_tonight_.insert(each.id);
        all->push_back(each);
    }
    return all;
}

Expected<std::int64_t> EveningStores::read_records(SessionId session,
                                                   const std::function<void(const JournalRecord&)>& each) const {
    return home_of(session).read_records(session, each);
}

}  // namespace breakstep
