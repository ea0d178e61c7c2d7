#include "hall/scene/beside_words.hpp"

#include <fmt/format.h>

#include <cmath>

namespace breakstep {
namespace {

std::string words_of_lure(const LureRead& lure) {
    if (!lure.readable) return "no beat to follow";
    if (!lure.ahead) return "";
    const double seconds = static_cast<double>(lure.ahead->count()) * 1e-9;
    // A tenth is what a foot can be told by; less is on it.
    if (seconds > -0.05 && seconds < 0.05) return "on the beat";
    return fmt::format("{:.1f} s {} the beat", std::abs(seconds), seconds > 0 ? "ahead of" : "behind");
}

std::string words_of_edge(const RepResult& rep) {
    if (was_feint(rep)) return "";
    switch (rep.at_edge) {
        case AtEdge::elsewhere:
            return "not at the edge";
        case AtEdge::crowded:
            return "you were too close";
        case AtEdge::led:
            if (!rep.edge_to_contact) return "at the edge";
            return fmt::format("{:.1f} s after the edge", static_cast<double>(rep.edge_to_contact->count()) * 1e-9);
        case AtEdge::not_asked:
        case AtEdge::unknown:
            break;
    }
    return "";
}

}  // namespace

std::string beside_words(const Asks& asks, const RepResult& rep) {
    if (rep.verdict == Verdict::void_rep || rep.catch_trial) return "";
    if (rep.called) {
        const bool on_time = rep.verdict == Verdict::on_time || rep.verdict == Verdict::around;
        const bool so = on_time ? *rep.called == Verdict::on_time : *rep.called == rep.verdict;
        return so ? "as you said" : fmt::format("you said {}", word(*rep.called));
    }
    if (rep.lure.played) return words_of_lure(rep.lure);
    if (asks.rung == RungAim::edge) return words_of_edge(rep);
    if (rep.out_in_time) return *rep.out_in_time ? "and out" : "still inside";
    if (rep.followed_up) return *rep.followed_up ? "and again" : "no second strike";
    if (asks.off_line && rep.off_line) return *rep.off_line ? "off the line" : "on its line";
    if (asks.no_more_ground && rep.verdict == Verdict::on_time && rep.rung_hit && !*rep.rung_hit)
        return "more ground given";
    return "";
}

}  // namespace breakstep
