#include "core/leading/who_leads.hpp"

#include <algorithm>

namespace breakstep::leading {

void WhoLeads::entered(Who who, Duration at) {
    FollowTest& own = who == Who::a ? a_follows_b_ : b_follows_a_;
    FollowTest& others = who == Who::a ? b_follows_a_ : a_follows_b_;
    own.entered(at);
    others.acted(at);
}

void WhoLeads::lifted(Who who, Duration at) { (who == Who::a ? b_follows_a_ : a_follows_b_).acted(at); }

void WhoLeads::interrupted() {
    a_follows_b_.interrupted();
    b_follows_a_.interrupted();
}

std::uint64_t WhoLeads::acts() const { return std::max(a_follows_b_.acts(), b_follows_a_.acts()); }

Lead WhoLeads::lead() const {
    const Sign of_a = a_follows_b_.sign(), of_b = b_follows_a_.sign();
    if (of_a == Sign::tell && of_b == Sign::tell) return Lead::together;
    if (of_a == Sign::tell) return Lead::b_leads;
    if (of_b == Sign::tell) return Lead::a_leads;
    if (of_a == Sign::hunch && of_b == Sign::hunch) return Lead::maybe_together;
    if (of_a == Sign::hunch) return Lead::maybe_b_leads;
    if (of_b == Sign::hunch) return Lead::maybe_a_leads;
    return acts() < acts_at_least ? Lead::too_few : Lead::no_sign;
}

}  // namespace breakstep::leading
