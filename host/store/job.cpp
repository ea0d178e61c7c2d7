#include "store/job.hpp"

namespace breakstep {

std::size_t size_of(const RepResult& result) {
    return sizeof(Job) + result.later_contacts.size() * sizeof(Duration) + result.phases.size() * sizeof(AttackPhase);
}
std::size_t size_of(const SessionTotals& totals) { return sizeof(Job) + totals.sign_reason.size(); }

std::size_t size_of(const Job& job) {
    if (const auto* batch = std::get_if<RecordBatch>(&job))
        return sizeof(Job) + batch->bytes.size() + batch->entries.size() * sizeof(RecordBatch::Entry);
    if (const auto* rep = std::get_if<KeptRep>(&job)) return size_of(rep->result);
    return size_of(std::get<KeptTotals>(job).totals);
}

std::int64_t items_in(const Job& job) {
    const auto* batch = std::get_if<RecordBatch>(&job);
    return batch != nullptr ? static_cast<std::int64_t>(batch->entries.size()) : 1;
}

SessionId session_of(const Job& job) {
    return std::visit([](const auto& kept) { return kept.session; }, job);
}

}  // namespace breakstep
