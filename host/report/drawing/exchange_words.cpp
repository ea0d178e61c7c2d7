#include "report/drawing/exchange_words.hpp"

#include <fmt/format.h>

#include "core/reading/words.hpp"

namespace breakstep {
namespace {

using leading::FollowTest;
using leading::Lead;
using reading::decimals;

// "Heron steps in about 0.45 s after Curlew kicks: 7 of 9. Heron's own rhythm alone would give 3."
std::string evidence(const FollowTest& test, const std::string& led, const char* does, const std::string& leader,
                     const char* acts) {
    const auto& count = test.count();
    std::string text;
    if (const auto lag = test.lag())
        text = fmt::format("{} {} about {} s after {}{}: {} of {}. ", led, does, decimals(*lag, 2), leader, acts,
                           count.hits, count.of);
    return text + fmt::format("{}'s own rhythm alone would give {}.", led, decimals(count.chance, 0));
}

std::string named(const std::string& partner) { return partner.empty() ? "The partner" : partner; }
// In the midst of a sentence.
std::string inside(const std::string& partner) { return partner.empty() ? "the partner" : partner; }

std::string joined(const ExchangeSaid& said) {
    return said.evidence.empty() ? said.claim : said.claim + " " + said.evidence;
}

ExchangeSaid coin_words(const leading::CoinDrill& coin, const std::string& athlete, const std::string& partner) {
    const auto &cued = coin.after_cue(), &sham = coin.after_nothing();
    ExchangeSaid said;
    said.claim = coin.makes_go() ? fmt::format("{} makes {} go.", named(partner), athlete)
                                 : fmt::format("No sign that {} makes {} go.", inside(partner), athlete);
    said.evidence = fmt::format("After a cue {} stepped in {} of {} times, after none {} of {}.", athlete, cued.entered,
                                cued.of, sham.entered, sham.of);
    return said;
}

std::string tempo_words(const scoring::LiveTempo& tempo, const std::string& who, const char* does) {
    if (!tempo.median) return "";
    return fmt::format("{} {} each {} s or so", who, does,
                       decimals(static_cast<double>(tempo.median->count()) / 1e9, 1));
}

}  // namespace

ExchangeSaid who_leads_words(const scoring::Exchange& exchange, const std::string& athlete,
                             const std::string& partner) {
    if (exchange.coin_drill().trials() > 0) return coin_words(exchange.coin_drill(), athlete, partner);
    const leading::WhoLeads& bout = exchange.bout();
    const auto athlete_led = [&](const char* maybe) {
        return ExchangeSaid{
            maybe + fmt::format("{} can make {} go.", *maybe == 0 ? named(partner) : inside(partner), athlete),
            evidence(bout.a_follows_b(), athlete, "steps in", inside(partner), " kicks")};
    };
    const auto partner_led = [&](const char* maybe) {
        return ExchangeSaid{maybe + fmt::format("{} can make {} kick.", athlete, inside(partner)),
                            evidence(bout.b_follows_a(), named(partner), "kicks", athlete, " steps in")};
    };
    switch (bout.lead()) {
        case Lead::too_few:
            return {"Too few acts to say.",
                    fmt::format("{} so far; it takes {}.", bout.acts(), leading::acts_at_least)};
        case Lead::no_sign:
            return {fmt::format("No sign that either leads, in {} acts.", bout.acts()), ""};
        case Lead::maybe_b_leads:
            return athlete_led("Maybe: ");
        case Lead::maybe_a_leads:
            return partner_led("Maybe: ");
        case Lead::maybe_together:
            return {"Maybe: you move together; who leads can't be told here.", ""};
        case Lead::b_leads:
            return athlete_led("");
        case Lead::a_leads:
            return partner_led("");
        case Lead::together:
            return {"You move together; who leads can't be told here.", ""};
    }
    return {};
}

ExchangeSaid edge_words(const scoring::EdgeCounts& counts) {
    const auto times = [](std::int32_t count) { return fmt::format("{} time{}", count, count == 1 ? "" : "s"); };
    ExchangeSaid said;
    // Short enough for one line at the rest.
    if (counts.crowded > counts.led) {
        said.claim = fmt::format("Too close {}: crowding is not leading.", times(counts.crowded));
        if (counts.led > 0)
            said.evidence =
                fmt::format("Led there {}: attacked {}, met {}.", counts.led, counts.attacked, counts.answered);
    } else if (counts.led > 0) {
        said.claim = fmt::format("Led to the edge {}.", times(counts.led));
        said.evidence = fmt::format("Attacked there {}, met in time {}.", counts.attacked, counts.answered);
        if (counts.crowded > 0) said.evidence += fmt::format(" Too close {}.", counts.crowded);
    } else {
        said.claim = counts.unknown > 0 ? "Never led to the edge." : "Never at the edge.";
    }
    if (counts.unknown > 0)
        said.evidence += fmt::format("{}Not known from where {}.", said.evidence.empty() ? "" : " ", counts.unknown);
    return said;
}

ExchangeSaid what_makes_them_kick_words(const scoring::Exchange& exchange, const std::string& partner) {
    switch (exchange.partner_habit()) {
        case scoring::PartnerHabit::none:
            return {};
        case scoring::PartnerHabit::after_one_retreat:
            return {fmt::format("Give ground once and {} kicks.", inside(partner)),
                    evidence(exchange.after_one_retreat(), named(partner), "kicks", "the first step back", "")};
        case scoring::PartnerHabit::after_two_retreats:
            return {fmt::format("Give ground twice and {} kicks.", inside(partner)),
                    evidence(exchange.after_two_retreats(), named(partner), "kicks", "the second step back", "")};
        case scoring::PartnerHabit::kicks_alike: {
            const auto& kinds = exchange.kinds();
            static constexpr const char* words[] = {"a single kick", "a kick that goes on", "a kick and then hands",
                                                    "a feint"};
            std::uint8_t most = 0;
            for (std::uint8_t i = 1; i < std::size(words); ++i)
                if (kinds.count(i) > kinds.count(most)) most = i;
            return {fmt::format("What {} does next can be read.", inside(partner)),
                    fmt::format("Most often {}: {} of {}.", words[most], kinds.count(most), kinds.seen())};
        }
    }
    return {};
}

std::string partner_habit_words(const scoring::Exchange& exchange, const std::string& partner) {
    return joined(what_makes_them_kick_words(exchange, partner));
}

std::vector<std::string> exchange_words(const scoring::Exchange& exchange, const std::string& athlete,
                                        const std::string& partner) {
    std::vector<std::string> lines{joined(who_leads_words(exchange, athlete, partner))};
    if (exchange.coin_drill().trials() == 0)
        lines.emplace_back("A common beat (music, a clap) looks the same; the coin drill tells them apart.");
    if (std::string habit = partner_habit_words(exchange, partner); !habit.empty()) lines.push_back(std::move(habit));
    const std::string steps = tempo_words(exchange.athlete_tempo(), athlete, "steps in");
    const std::string kicks =
        tempo_words(exchange.partner_tempo(), steps.empty() ? named(partner) : inside(partner), "kicks");
    if (!steps.empty() || !kicks.empty())
        lines.push_back(steps + (!steps.empty() && !kicks.empty() ? "; " : "") + kicks + ".");
    return lines;
}

}  // namespace breakstep
