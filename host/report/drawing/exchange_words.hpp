// Who makes whom go, and what makes a partner kick, as a coach says it: for the stage's rest, pages and lists alike.
// Pure; any thread; English; cannot fail.
#pragma once

#include <string>
#include <vector>

#include "core/score/exchange.hpp"

namespace breakstep {

/// "Curlew can make Heron go. Heron steps in about 0.45 s after Curlew kicks: 7 of 9. ..." One line each, without an
/// end. `partner` "" is a partner whom nobody named.
[[nodiscard]] std::vector<std::string> exchange_words(const scoring::Exchange& exchange, const std::string& athlete,
                                                      const std::string& partner);
/// What makes the partner kick: "Give ground twice and Curlew kicks. ..."; "" where nothing is told.
[[nodiscard]] std::string partner_habit_words(const scoring::Exchange& exchange, const std::string& partner);

/// What is said first, and what it rests on: "Curlew can make Heron go." and "Heron steps in about 0.45 s after ...".
struct ExchangeSaid {
    std::string claim, evidence;
};
[[nodiscard]] ExchangeSaid who_leads_words(const scoring::Exchange& exchange, const std::string& athlete,
                                           const std::string& partner);
/// How often the partner was led to the end of their room, and what became of it: "Led to the edge 6 times." and
/// "Attacked there 5, met in time 4. Too close 2."
[[nodiscard]] ExchangeSaid edge_words(const scoring::EdgeCounts& counts);
[[nodiscard]] ExchangeSaid what_makes_them_kick_words(const scoring::Exchange& exchange, const std::string& partner);

}  // namespace breakstep
