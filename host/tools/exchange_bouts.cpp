#include "tools/exchange_bouts.hpp"

#include <algorithm>
#include <cmath>
#include <functional>
#include <limits>
#include <optional>

#include "cli/session_setup.hpp"
#include "core/random.hpp"

namespace breakstep {
namespace {

using leading::BoutAct;
using leading::Who;

constexpr Duration between = 3s, longest = 7200s;

// One leg passes a beam; the way back is another pass, which breaks of one gate are from pass_window on.
constexpr Duration beam = 40ms, way_back = pass_window + 10ms;
// A foot that is off for longer than a bounce, and a kick, for which there must be time.
constexpr Duration feint = 170ms, floor_again = 60ms, hip_from = 120ms, hip_to = 500ms, kick = 650ms, again = 200ms,
                   room_for_kick = 1600ms;
// After the count the athlete goes out of reach; then the acts begin.
constexpr Duration out_after = 100ms, acts_after = 1s;

Duration s(double seconds) { return Duration(std::llround(seconds * 1e9)); }
// What a free partner kicks with, each as often: nothing in it can be read.
constexpr std::array kinds{AttackKind::single, AttackKind::reset, AttackKind::leg_to_hands, AttackKind::feint};

double seconds(Duration time) { return static_cast<double>(time.count()) * 1e-9; }

// A kick where there is time for one until B's next act, else a feint.
AttackKind kind_for(std::span<const BoutAct> acts, std::size_t i) {
    for (std::size_t k = i + 1; k < acts.size(); ++k)
        if (acts[k].who == Who::b)
            return s(acts[k].at - acts[i].at) >= room_for_kick ? AttackKind::single : AttackKind::feint;
    return AttackKind::single;
}

void sort_by_time(std::vector<BoutAct>& acts) {
    std::stable_sort(acts.begin(), acts.end(), [](const BoutAct& a, const BoutAct& b) { return a.at < b.at; });
}

}  // namespace

std::vector<BoutAct> as_bodies_can(std::span<const BoutAct> acts) {
    std::vector<BoutAct> moved;
    Duration athlete_free{}, foot_free{};
    for (std::size_t i = 0; i < acts.size(); ++i) {
        Duration& free = acts[i].who == Who::a ? athlete_free : foot_free;
        const Duration at = std::max(s(acts[i].at), free);
        const Duration off = kind_for(acts, i) == AttackKind::feint ? feint : kick;
        free = at + (acts[i].who == Who::a ? 2 * way_back : off + floor_again);
        moved.push_back({acts[i].who, seconds(at)});
    }
    sort_by_time(moved);
    return moved;
}

/// What passes the gates: one athlete, one leg.
class ExchangeBouts::Bodies {
  public:
    explicit Bodies(SimulatedTarget& target) : target_(target) {}
    virtual ~Bodies() = default;
    Bodies(const Bodies&) = delete;
    Bodies& operator=(const Bodies&) = delete;

    /// A set runs from `now` on.
    virtual void set_begins(HostTime now) = 0;
    /// When something is to be done that was not planned as the set began.
    [[nodiscard]] virtual std::optional<HostTime> next() const { return std::nullopt; }
    virtual void due(HostTime) {}

    [[nodiscard]] std::vector<BoutAct> acts() const {
        std::vector<BoutAct> sorted = acts_;
        sort_by_time(sorted);
        return sorted;
    }

  protected:
    void go_out(HostTime now) {
        pass(now + out_after, GateRole::near_mark);
        athlete_free_ = now + out_after + way_back;
        foot_free_ = now;
    }
    HostTime step_in(HostTime wanted) {
        const HostTime at = std::max(wanted, athlete_free_);
        pass(at, GateRole::near_mark);
        pass(at + way_back, GateRole::near_mark);
        athlete_free_ = at + 2 * way_back;
        acts_.push_back({Who::a, seconds(at.time_since_epoch())});
        return at;
    }
    HostTime give_ground(HostTime wanted) {
        const HostTime at = std::max(wanted, athlete_free_);
        pass(at, GateRole::far_mark);
        pass(at + way_back, GateRole::far_mark);
        athlete_free_ = at + 2 * way_back;
        return at;
    }
    HostTime lift(HostTime wanted, AttackKind kind) {
        const HostTime at = std::max(wanted, foot_free_);
        HostTime down = leg(at, kind != AttackKind::feint);
        if (kind == AttackKind::reset) down = leg(down + again, true);
        if (kind == AttackKind::leg_to_hands) {
            block(down + again, down + again + beam, GateRole::hands);
            down += again + beam;
        }
        foot_free_ = down + floor_again;
        return at;
    }
    [[nodiscard]] SimulatedTarget& target() { return target_; }
    void note_lift(HostTime at) { acts_.push_back({Who::b, seconds(at.time_since_epoch())}); }

  private:
    /// Until when the foot is off.
    HostTime leg(HostTime at, bool kicks) {
        const HostTime down = at + (kicks ? kick : feint);
        block(at, down, GateRole::low);
        if (kicks) block(at + hip_from, at + hip_to, GateRole::hip);
        note_lift(at);
        return down;
    }
    void block(HostTime from, HostTime to, GateRole gate) {
        target_.rig().block_gate(from, gate, true);
        target_.rig().block_gate(to, gate, false);
    }
    void pass(HostTime at, GateRole gate) { block(at, at + beam, gate); }

    SimulatedTarget& target_;
    HostTime athlete_free_{}, foot_free_{};
    std::vector<BoutAct> acts_;
};

ExchangeBouts::ExchangeBouts(const Drill& free, const Drill& coin, std::uint64_t seed)
    : free_(free), coin_(coin), rig_(for_a_partner(simulated_target_settings(seed)), seed) {}

void ExchangeBouts::begin(const Drill& drill, std::uint64_t seed) {
    rig_.driver.pass(between);
    rig_.target.set_script(rig_.driver.now(), Script{});
    SessionBegan began = rig_.next(drill, seed);
    began.participants = {{ParticipantRole::athlete, AthleteId{1}, Side::right},
                          {ParticipantRole::partner, AthleteId{2}, Side::right}};
    rig_.driver.core().start(began, VirtualRig::names_of(began), rig_.driver.now());
}

Expected<PlayedBout> ExchangeBouts::run(const Drill& drill, std::uint64_t seed, Bodies& bodies) {
    begin(drill, seed);
    const HostTime last = rig_.driver.now() + longest;
    bool running = false;
    while (!rig_.driver.core().session_end()) {
        const auto own = running ? bodies.next() : std::nullopt;
        const HostTime until = own ? std::min(*own, last) : last;
        const bool more = rig_.driver.advance(until);
        if (!more && rig_.driver.now() >= last)
            return failure(ErrorKind::device, "a bout did not end within two hours of simulated time",
                           "report this with the seed");
        const Conduct* conduct = rig_.driver.core().engine().conduct();
        const bool runs = conduct != nullptr && conduct->scene().kind == SceneKind::running;
        if (runs && !running) bodies.set_begins(rig_.driver.now());
        running = runs;
        if (running) bodies.due(rig_.driver.now());
    }
    if (*rig_.driver.core().session_end() != SessionEnd::finished)
        return failure(ErrorKind::device, "a bout was not played to its end", "report this with the seed");
    PlayedBout played;
    played.exchange = *rig_.driver.core().engine().score()->exchange();
    played.acts = bodies.acts();
    const auto of = [&](Who who) {
        return static_cast<std::uint64_t>(std::count_if(played.acts.begin(), played.acts.end(),
                                                        [who](const BoutAct& act) { return act.who == who; }));
    };
    // Entries of A are B's direction's acts, and the other way round.
    const auto told = [](const leading::FollowTest& test) { return test.acts() + test.merged(); };
    const std::uint64_t entries = told(played.exchange.bout().b_follows_a()),
                        lifts = told(played.exchange.bout().a_follows_b());
    played.entries_missed = of(Who::a) > entries ? of(Who::a) - entries : entries - of(Who::a);
    played.lifts_missed = of(Who::b) > lifts ? of(Who::b) - lifts : lifts - of(Who::b);
    return played;
}

Expected<PlayedBout> ExchangeBouts::play(std::span<const BoutAct> acts, std::uint64_t seed) {
    class Scripted : public Bodies {
      public:
        Scripted(SimulatedTarget& target, std::span<const BoutAct> wanted) : Bodies(target), wanted_(wanted) {}
        void set_begins(HostTime now) override {
            go_out(now);
            const HostTime zero = now + acts_after;
            for (std::size_t i = 0; i < wanted_.size(); ++i) {
                const HostTime at = zero + s(wanted_[i].at);
                if (wanted_[i].who == Who::a)
                    step_in(at);
                else
                    lift(at, kind_for(wanted_, i));
            }
        }

      private:
        std::span<const BoutAct> wanted_;
    };
    Drill drill = free_;
    drill.sets = 1;
    drill.partner.round = acts_after + s(acts.empty() ? 0 : acts.back().at) + 3s;
    Scripted bodies(rig_.target, acts);
    return run(drill, seed, bodies);
}

Expected<PlayedBout> ExchangeBouts::play(const Kicker& kicker, std::uint64_t seed) {
    class Exchanging : public Bodies {
      public:
        Exchanging(SimulatedTarget& target, const Kicker& kicker, Random random, Duration round)
            : Bodies(target), kicker_(kicker), random_(random), round_(round) {}
        void set_begins(HostTime now) override {
            go_out(now);
            const HostTime begin = now + acts_after, end = now + round_ - 2s;
            const bool springs = kicker_.at_retreat > 0;
            HostTime retreat = begin + s(random_.exponential(1.2)), entry = begin + s(random_.exponential(1.5));
            HostTime next_kick = springs ? HostTime::max() : own(begin);
            int retreats = 0;
            while (std::min({retreat, entry, next_kick}) < end) {
                if (next_kick <= retreat && next_kick <= entry) {
                    const HostTime at = lift(next_kick, kinds[random_.below(kinds.size())]);
                    retreats = 0;
                    next_kick = springs ? HostTime::max() : own(at);
                } else if (entry <= retreat) {
                    entry = step_in(entry) + s(0.7 + random_.exponential(1.5));
                } else {
                    const HostTime at = give_ground(retreat);
                    if (++retreats == kicker_.at_retreat && random_.chance(kicker_.share))
                        next_kick = at + s(random_.lognormal(kicker_.lag, kicker_.variation));
                    retreat = at + s(0.8 + random_.exponential(1.0));
                }
            }
        }

      private:
        [[nodiscard]] HostTime own(HostTime now) {
            return kicker_.beat > 0 ? now + s(kicker_.beat * (1 + kicker_.beat_variation * random_.normal()))
                                    : now + s(kicker_.shift + random_.exponential(kicker_.mean));
        }
        const Kicker& kicker_;
        Random random_;
        Duration round_;
    };
    Drill drill = free_;
    drill.sets = 3;
    drill.rest = 10s;
    Exchanging bodies(rig_.target, kicker, Random(seed, 5), drill.partner.round);
    return run(drill, seed, bodies);
}

/// Sees the leg, not the cue.
class ExchangeBouts::CoinAthlete : public Bodies {
  public:
    CoinAthlete(SimulatedTarget& target, const CoinFollower& follower, Random random)
        : Bodies(target), follower_(follower), random_(random) {}

    void set_begins(HostTime now) override {
        go_out(now);
        wanted_ = {now + acts_after + own()};
    }
    [[nodiscard]] std::optional<HostTime> next() const override {
        return wanted_.empty() ? std::nullopt : std::optional(*std::min_element(wanted_.begin(), wanted_.end()));
    }
    void due(HostTime now) override {
        const auto& legs = target().partner()->truths();
        for (; seen_ < legs.size(); ++seen_) {
            note_lift(legs[seen_].toe_off);
            if (random_.chance(follower_.follows))
                wanted_.push_back(
                    std::max(now, legs[seen_].toe_off + s(random_.lognormal(follower_.lag, follower_.variation))));
        }
        while (const auto at = next()) {
            if (*at > now) return;
            wanted_.erase(std::min_element(wanted_.begin(), wanted_.end()));
            const HostTime entered = step_in(now);
            // One of its own at a time: whoever just went in by the partner's leg begins to wait anew.
            std::erase(wanted_, own_);
            own_ = entered + own();
            wanted_.push_back(own_);
        }
    }

  private:
    // In about a quarter of the windows of 0.75 s.
    [[nodiscard]] Duration own() { return 2 * way_back + s(random_.exponential(2.4)); }

    CoinFollower follower_;
    Random random_;
    std::size_t seen_ = 0;
    HostTime own_{};
    std::vector<HostTime> wanted_;
};

Expected<PlayedBout> ExchangeBouts::play(const CoinFollower& follower, std::int32_t trials, std::uint64_t seed) {
    Drill drill = coin_;
    drill.sets = 1;
    drill.reps = trials;
    // Whoever goes before the cue, or at none, acts of their own, and is no test of the coin.
    PartnerSettings partner;
    partner.seed = seed;
    partner.lengths = drill.opponent;
    partner.ignores = partner.goes_early = partner.unasked = partner.impossible = 0;
    rig_.target.set_partner(rig_.driver.now(), partner);
    CoinAthlete athlete(rig_.target, follower, Random(seed, 6));
    auto played = run(drill, seed, athlete);
    rig_.driver.pass(between);  // the last leg comes down
    rig_.target.set_partner(rig_.driver.now(), std::nullopt);
    return played;
}

}  // namespace breakstep
