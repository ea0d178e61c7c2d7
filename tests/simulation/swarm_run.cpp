#include "simulation/swarm_run.hpp"

#include "devices/audio/sound_set.hpp"
#include "devices/simulated/athlete_profile.hpp"
#include "places.hpp"

namespace breakstep::swarm {
namespace {

constexpr HostTime begin{Duration{1'000'000'000}};
// After the trouble: more than any drill of the swarm takes from its begin to its end, with every rep given again.
constexpr Duration longest_end = 900s;

std::unique_ptr<CueMixer> mixer() {
    static const auto sounds = load_sounds(std::string(BREAKSTEP_SOURCE_DIR) + "/sounds");
    return std::make_unique<CueMixer>(SoundSet(sounds.value()));
}

/// The computer: an engine, its driver, its sound. Ends with the program.
struct Computer {
    Computer(const Plan& plan, Played& into, SimulatedTarget& target, HostTime at)
        : played(into),
          cues(plan.sound ? mixer() : nullptr, at),
          driver(settings(plan), target, into.journal, cues, nullptr, at) {
        into.programs.push_back({at, {}, {}});
        driver.core().on_rig_answer = [this](const LinkEvent& event) { outside(event); };
        driver.core().on_refusal = [this](const std::string& why) { played.refusals.push_back(why); };
    }

    static EngineSettings settings(const Plan& plan) {
        EngineSettings engine;
        engine.seed = plan.seed;
        engine.devices.sound = plan.sound;
        return engine;
    }

    void outside(const LinkEvent& event) {
        ProgramRun& program = played.programs.back();
        std::visit(
            [&](const auto& known) {
                if constexpr (requires { known.at, known.sequence; })
                    program.outside.emplace(std::pair(known.at.boot(), known.sequence), driver.now());
                if constexpr (requires { known.boot, known.first, known.last; })
                    for (std::uint16_t lost = known.first; lost != static_cast<std::uint16_t>(known.last + 1); ++lost)
                        program.outside.emplace(std::pair(known.boot, lost), driver.now());
                if constexpr (requires { known.gates_broken; }) program.met.emplace(known.boot, driver.now());
            },
            event);
    }

    Played& played;
    VirtualCues cues;
    FastDriver driver;
};

class Player {
  public:
    explicit Player(const Plan& plan, Played& played)
        : plan_(plan),
          played_(played),
          target_(plan.target, begin),
          computer_(std::in_place, plan, played, target_, begin) {
        if (!plan.athlete.empty())
            target_.set_athlete(begin, {*find_athlete(plan.athlete), plan.drill.attacks, plan.seed});
    }

    void play() {
        try {
            pass(plan_.met_before);
            start(SessionId{2 * plan_.seed + 1});
            played_.journal.kill_at(plan_.killed_at);
            trouble();
            mend();
            come_to_an_end();
        } catch (const Killed&) {
            begin_again();
        }
        remember();
    }

  private:
    [[nodiscard]] FastDriver& driver() { return computer_->driver; }
    [[nodiscard]] DriverCore& core() { return computer_->driver.core(); }

    // In small steps, so that the disk gets on.
    void pass(Duration time) {
        const HostTime last = driver().now() + time;
        while (driver().now() < last) {
            played_.journal.pass(driver().now());
            driver().pass(std::min<Duration>(10ms, last - driver().now()));
        }
        played_.journal.pass(driver().now());
        core().poll(driver().now());
    }

    void start(SessionId id) {
        SessionBegan session;
        session.session = id;
        session.athlete = AthleteId{7};
        session.seed = plan_.seed;
        session.drill = plan_.drill;
        core().start(session, {}, driver().now());
    }

    void trouble() {
        const HostTime began = driver().now();
        for (const TimedDeed& timed : plan_.deeds) {
            if (core().session_end()) return;
            pass(std::max(Duration{}, began + timed.after - driver().now()));
            std::visit([this](const auto& deed) { act(deed); }, timed.deed);
        }
        if (!core().session_end()) pass(std::max(Duration{}, began + plan_.trouble - driver().now()));
    }

    void act(const CoachDeed& deed) { input(Coach{deed.input}); }
    void act(const VoidDeed& deed) { input(ToggleVoid{deed.rep}); }
    void act(const StrikeDeed& deed) { target_.rig().strike(driver().now(), deed.pad, deed.strength); }
    void act(const PassDeed& deed) { target_.rig().cross_gate(driver().now(), deed.gate, 90ms, 50ms); }
    void act(const DiskDeed& deed) {
        played_.journal.fail(driver().now(), deed.fails);
        core().poll(driver().now());
    }
    void act(const LampDeed& deed) { target_.rig().ail_lamps(deed.ailment); }
    void input(const EngineInput& wanted) { core().call(InputCall{wanted, driver().now()}, driver().now()); }

    void mend() {
        target_.rig().ail_lamps({});
        played_.journal.fail(driver().now(), false);
        core().poll(driver().now());
        if (!core().session_end()) input(Coach{{CoachAct::go_on, 0}});
    }

    // What a person would do, so that a healthy session ends: taps where the drill is tapped, a strike where a set
    // waits for one (nobody may stand there, or the rig may have no lamp that asks for it).
    void come_to_an_end() {
        const HostTime began = driver().now();
        while (!core().session_end() && driver().now() - began < longest_end) {
            pass(2s);
            if (core().session_end()) break;
            if (plan_.drill.start == StartKind::tapped) input(Coach{{CoachAct::tap_attack, -1}});
            const Conduct* conduct = core().engine().conduct();
            if (conduct->scene().kind == SceneKind::awaiting_start)
                target_.rig().strike(driver().now(), PadRole::high_left, 0.7);
        }
        played_.mended_until_end = driver().now() - began;
        if (!core().session_end()) {
            played_.fault = "the session did not end, though everything was mended: ";
            played_.fault += "scene " + std::to_string(static_cast<int>(core().engine().conduct()->scene().kind));
        }
    }

    // Another start of the program, on the same rig and disk.
    void begin_again() {
        const HostTime now = driver().now();
        played_.killed = true;
        played_.journal.kill_at(std::nullopt);
        computer_.reset();
        played_.journal.program_ended();
        target_.due(now);
        target_.rig().ail_lamps({});
        if (!target_.plugged()) target_.plug(now, true);
        computer_.emplace(plan_, played_, target_, now);
        played_.journal.fail(now, false);
        start(SessionId{2 * plan_.seed + 2});
        come_to_an_end();
    }

    void remember() {
        played_.journal.kill_at(std::nullopt);
        pass(1s);
        played_.end = core().session_end();
        const Score& score = *core().engine().score();
        played_.live_reps = score.reps();
        played_.live_intervals = score.intervals();
        played_.live_totals = score.totals();
        target_.rig().take_truths(played_.truths);
        target_.rig().take_released(played_.released);
    }

    const Plan& plan_;
    Played& played_;
    SimulatedTarget target_;
    std::optional<Computer> computer_;
};

}  // namespace

Played play(const Plan& plan) {
    Played played;
    played.plan = plan;
    played.journal = SwarmJournal(plan.commit_after);
    try {
        Player(plan, played).play();
    } catch (const Spins& spins) {
        played.fault = spins.what();
    }
    return played;
}

}  // namespace breakstep::swarm
