// `pairs`: a class without a rig. A silent picture says what each pair's attacker does; tones stand at the begin and
// the end of a round only. Without a window the plan is told at once, for a coach who calls it.
#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include <algorithm>
#include <chrono>
#include <iostream>
#include <thread>

#include "cli/live_window.hpp"
#include "cli/session_setup.hpp"
#include "hall/scene/pairs_view.hpp"

namespace breakstep {
namespace {

using Json = nlohmann::ordered_json;

double seconds(Duration time) { return static_cast<double>(time.count()) * 1e-9; }

/// By where they stand: the first two of the list are pair 1.
Expected<std::vector<std::pair<std::string, std::string>>> pairs_of(const PairsCommand& given) {
    std::vector<std::pair<std::string, std::string>> pairs(static_cast<std::size_t>(given.options.pairs));
    if (given.athletes.empty()) return pairs;
    if (given.athletes.size() % 2 != 0 || given.athletes.size() > 20)
        return failure(ErrorKind::bad_input, fmt::format("{} call-signs make no pairs", given.athletes.size()),
                       "name two for each pair, twenty at most, in the order in which the pairs stand");
    for (std::size_t i = 0; i < given.athletes.size(); ++i)
        if (std::find(given.athletes.begin() + static_cast<std::ptrdiff_t>(i) + 1, given.athletes.end(),
                      given.athletes[i]) != given.athletes.end())
            return failure(ErrorKind::bad_input, "\"" + given.athletes[i] + "\" is named twice",
                           "nobody can stand in two places: name each once");
    pairs.resize(given.athletes.size() / 2);
    for (std::size_t i = 0; i < pairs.size(); ++i) pairs[i] = {given.athletes[2 * i], given.athletes[2 * i + 1]};
    return pairs;
}

Json cue_json(const Drill& drill, const PairsCue& cue) {
    Json attacks = Json::array();
    for (std::size_t i = 0; i < cue.attacks.size(); ++i) {
        const AttackChoice& attack = drill.attacks[static_cast<std::size_t>(cue.attacks[i])];
        Json each;
        each["place"] = i + 1;
        each["attack"] = word(attack.kind);
        const bool feint = attack.kind == AttackKind::feint;
        each["moment"] = feint ? Json(nullptr) : Json(words_of(attack.moment, attack.moments));
        each["counter"] = feint ? Json(nullptr) : Json(word(attack.counter));
        attacks.push_back(std::move(each));
    }
    Json json;
    json["at_s"] = seconds(cue.at);
    json["until_s"] = seconds(cue.until);
    json["pairs"] = std::move(attacks);
    return json;
}

void print_json(const PairsClass& given, std::uint64_t seed) {
    Json rounds = Json::array();
    for (const PairsRound& round : given.rounds) {
        Json cues = Json::array();
        for (const PairsCue& cue : round.cues) cues.push_back(cue_json(given.drill, cue));
        Json json;
        json["attacks"] = round.first_attacks ? "first" : "second";
        json["change_over_from_s"] = seconds(round.change_from);
        json["begins_s"] = seconds(round.begin);
        json["ends_s"] = seconds(round.end);
        json["cues"] = std::move(cues);
        rounds.push_back(std::move(json));
    }
    Json whole;
    whole["drill"] = given.drill.name;
    whole["seed"] = seed;
    whole["pairs"] = given.names.size();
    whole["rounds"] = std::move(rounds);
    std::cout << whole.dump() << '\n';
}

void print_words(const PairsClass& given) {
    std::cout << given.drill.title << '\n';
    for (std::size_t r = 0; r < given.rounds.size(); ++r) {
        const PairsRound& round = given.rounds[r];
        std::cout << fmt::format("round {}: the {} of each pair attacks\n", r + 1,
                                 round.first_attacks ? "first" : "second");
        for (const PairsCue& cue : round.cues) {
            const auto at = std::chrono::duration_cast<std::chrono::seconds>(cue.at).count();
            std::cout << fmt::format("  {:>2}:{:02} ", at / 60, at % 60);
            for (const std::int32_t attack : cue.attacks)
                std::cout << fmt::format(" {:<13}", word(given.drill.attacks[static_cast<std::size_t>(attack)].kind));
            std::cout << '\n';
        }
    }
}

HostTime now() {
    return HostTime{std::chrono::duration_cast<Duration>(std::chrono::steady_clock::now().time_since_epoch())};
}

/// Shows each step at its time, on the main thread, until the last has stood for a while or the window is closed.
void show_class(LiveCues& cues, const PairsClass& given) {
    constexpr Duration last_stands = 10s;
    const std::vector<PairsStep> steps = steps_of(given);
    const HostTime began = now();
    std::uint64_t sound = 0;
    StageWindow& window = *cues.window();
    for (std::size_t at = 0; at < steps.size(); ++at) {
        const HostTime until = began + (at + 1 < steps.size() ? steps[at + 1].from : steps[at].from + last_stands);
        cues.show(pairs_view(steps[at], began));
        // As soon as it can be mixed: nobody times anything by it.
        if (steps[at].tone) cues.play(SoundOrder{sound++, CueSound::set_end, AudioFrame{0}});
        while (now() < until) {
            window.frame();
            while (const auto event = window.next_event())
                if (event->kind == StageEvent::Kind::quit || event->kind == StageEvent::Kind::escape) return;
        }
    }
}

}  // namespace

int run_pairs(const PairsCommand& given) {
    const auto settings = load_settings(given.common.settings);
    if (!settings) return complain(settings.error());
    auto drill = load_drill(given.drill, *settings);
    if (!drill) return complain(drill.error());
    auto names = pairs_of(given);
    if (!names) return complain(names.error());
    PairsOptions options = given.options;
    options.pairs = static_cast<std::int32_t>(names->size());
    const std::uint64_t seed = given.common.has_seed ? given.common.seed : IdSource(std::nullopt).next();
    const PairsClass shown{*drill, plan_pairs(*drill, seed, options), std::move(*names)};
    if (given.common.headless || given.common.json) {
        if (given.common.json)
            print_json(shown, seed);
        else
            print_words(shown);
        return exit_done;
    }
    LiveCues::Wanted wanted = wanted_cues(given.common, *settings);
    wanted.window.title = "breakstep pairs";
    LiveCues cues(wanted);
    for (const std::string& missing : cues.missing()) std::cerr << "breakstep: " << missing << '\n';
    if (cues.window() == nullptr)
        return complain({ErrorKind::device, "there is no stage for the class to look at",
                         "start it from a desktop with a screen, or add --headless for a list that you call out"});
    show_class(cues, shown);
    return exit_done;
}

}  // namespace breakstep
