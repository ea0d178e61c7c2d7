#include "core/trade/opponent.hpp"

#include <array>
#include <cmath>
#include <cstddef>
#include <optional>
#include <utility>

#include "core/trade/rules.hpp"

namespace breakstep {
namespace {

constexpr std::array<std::string_view, 3> level_words{"beginner", "intermediate", "advanced"};

// So many redraws that a range holding even 1 % of the law is met all but surely. A range narrower than that (both ends
// the same, say) asks for the mean itself.
constexpr int redraws = 2000;

// Appends phases to an attack, each with a length of its own.
class AttackBuilder {
  public:
    AttackBuilder(const OpponentSettings& settings, Random& random)
        : settings_(settings), spread_(settings.untidy ? untidy_spread : settings.spread), random_(random) {}

    void add(Phase phase, const LengthRange& range, bool held = false) {
        phases_.push_back({phase, held, draw_length(range, spread_, random_)});
    }
    // The way out to full reach, back, down, and the pause after it.
    void add_kick_from_chamber(int rebounds) {
        add(Phase::up, settings_.up);
        for (int i = 0; i < rebounds; ++i) {
            add(Phase::pull_back, settings_.pull_back);
            add(Phase::up, settings_.up);
        }
        add(Phase::pull_back, settings_.pull_back);
        add(Phase::drop, settings_.drop);
        add(Phase::gap, settings_.gap);
    }
    [[nodiscard]] std::vector<AttackPhase> take() { return std::move(phases_); }

  private:
    const OpponentSettings& settings_;
    double spread_;
    Random& random_;
    std::vector<AttackPhase> phases_;
};

}  // namespace

Duration draw_length(const LengthRange& range, double spread, Random& random) {
    if (range.shortest == range.longest) return range.mean;
    for (int i = 0; i < redraws; ++i) {
        const double drawn = random.lognormal(static_cast<double>(range.mean.count()), spread);
        const Duration length(std::llround(drawn));
        if (length >= range.shortest && length <= range.longest) return length;
    }
    return range.mean;
}

std::string_view word(Level level) {
    const auto index = static_cast<std::size_t>(level);
    return index < level_words.size() ? level_words[index] : "unknown";
}

template <>
std::optional<Level> from_word<Level>(std::string_view text) {
    for (std::size_t i = 0; i < level_words.size(); ++i)
        if (level_words[i] == text) return static_cast<Level>(i);
    return std::nullopt;
}

OpponentSettings opponent_defaults(Level level) {
    // Our default table, in ms (DEVELOPERS.md); loosely anchored in published kick times.
    OpponentSettings settings;
    switch (level) {
        case Level::beginner:
            settings.lift = {180ms, 130ms, 250ms};
            settings.up = {270ms, 220ms, 350ms};
            settings.pull_back = {220ms, 160ms, 300ms};
            settings.drop = {200ms, 150ms, 280ms};
            settings.gap = {350ms, 250ms, 600ms};
            settings.carry = {600ms, 400ms, 1200ms};
            settings.hands = {400ms, 300ms, 600ms};
            settings.feint = {300ms, 220ms, 400ms};
            settings.spread = 0.15;
            break;
        case Level::intermediate:
            settings.lift = {140ms, 100ms, 190ms};
            settings.up = {220ms, 180ms, 260ms};
            settings.pull_back = {180ms, 130ms, 240ms};
            settings.drop = {160ms, 120ms, 220ms};
            settings.gap = {250ms, 150ms, 400ms};
            settings.carry = {500ms, 300ms, 1000ms};
            settings.hands = {350ms, 250ms, 500ms};
            settings.feint = {240ms, 180ms, 320ms};
            settings.spread = 0.10;
            break;
        case Level::advanced:
            settings.lift = {110ms, 80ms, 150ms};
            settings.up = {170ms, 120ms, 210ms};
            settings.pull_back = {140ms, 100ms, 190ms};
            settings.drop = {130ms, 90ms, 180ms};
            settings.gap = {150ms, 80ms, 250ms};
            settings.carry = {400ms, 250ms, 900ms};
            settings.hands = {300ms, 200ms, 450ms};
            settings.feint = {200ms, 150ms, 260ms};
            settings.spread = 0.07;
            break;
    }
    return settings;
}

std::vector<AttackPhase> draw_attack(const OpponentSettings& settings, AttackKind kind, int rebounds, Random& random) {
    AttackBuilder attack(settings, random);
    if (kind == AttackKind::feint) {
        // A lift and back to the floor: lift throughout, so that nothing tells it from a real one.
        attack.add(Phase::lift, settings.feint);
        return attack.take();
    }
    attack.add(Phase::lift, settings.lift);
    if (kind == AttackKind::carry) attack.add(Phase::up, settings.carry, true);
    attack.add_kick_from_chamber(kind == AttackKind::rebound ? rebounds : 0);
    if (kind == AttackKind::reset) {
        attack.add(Phase::lift, settings.lift);
        attack.add_kick_from_chamber(0);
    }
    if (kind == AttackKind::leg_to_hands) attack.add(Phase::hands, settings.hands);
    return attack.take();
}

}  // namespace breakstep
