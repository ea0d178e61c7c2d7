#include "hall/evening/live_evening.hpp"

#include <utility>

#include "core/evening/pairing.hpp"
#include "hall/evening/evening_stage.hpp"
#include "hall/evening/hall_pairs.hpp"

namespace breakstep {

using namespace evening;

namespace {

// A rig that is away may keep a session from standing aside for as long as it likes. What is cut then is mended at the
// next start, as after a power cut.
constexpr Duration leave_patience = 2s;
// As many tiles can be read from four metres.
constexpr std::size_t most_pairs = 10;
// The engine's sounds are numbered from 1.
constexpr std::uint64_t first_tone = std::uint64_t{1} << 63U;

}  // namespace

struct LiveEvening::State {
    State(LiveEvening& whole, LiveEveningSettings wanted, Journal& journal, CueOutput& to, CaptureWriter* capture)
        : evening(whole),
          settings(std::move(wanted)),
          cues(to),
          driver(settings.live, journal, to, capture),
          owner(settings.club, driver.core(), journal) {}

    void begin(HostTime now);
    void step(HostTime now);
    void show(const EveningView& view);
    void follow_pairs(HostTime now);
    void begin_pairs(const Block& block, HostTime now);
    void notice(const std::string& text) {
        owner.noticed(text, driver.now());
        if (evening.on_notice) evening.on_notice(text);
    }

    LiveEvening& evening;
    LiveEveningSettings settings;
    CueOutput& cues;
    LiveDriver driver;
    EveningOwner owner;
    std::optional<HostTime> leaving_since;
    std::string line;                  ///< in the legend's place
    std::optional<StageView> resting;  ///< the last picture of a set that is over
    std::optional<HallPairs> pairs;    ///< of the block that runs
    std::int32_t pairs_of = -1;        ///< the block that was looked at for pairs
    std::vector<HallPair> paired;      ///< who stands with whom in it
    bool pairs_paused = false;
    std::uint64_t tones = first_tone;
};

void LiveEvening::State::begin(HostTime now) {
    if (settings.cut) {
        owner.go_on(std::move(*settings.cut), settings.cut_at, settings.began.unix_seconds, now);
        settings.cut.reset();
        for (const AthleteId athlete : settings.gone) owner.left(athlete, now);
        return;
    }
    owner.begin(settings.began, now);
    for (const AthleteCame& each : settings.present) owner.came(each, now);
}

void LiveEvening::State::step(HostTime now) {
    if (leaving_since) {
        if (owner.leave(now) || now - *leaving_since >= leave_patience) driver.finish();
        return;
    }
    owner.poll(now);
    follow_pairs(now);
    if (evening.on_step) evening.on_step(now);
    if (owner.over()) driver.finish();
}

// Who stands with whom is told once, in words too: the hall may have no screen that all can see.
void LiveEvening::State::begin_pairs(const Block& block, HostTime now) {
    const Drill* drill = settings.club.pairs_drill ? settings.club.pairs_drill(block.drill) : nullptr;
    if (drill == nullptr) return notice("no pairs: there is no drill \"" + block.drill + "\"");
    const auto call_sign = [this](AthleteId athlete) { return settings.club.call_sign(athlete); };
    std::vector<std::pair<std::string, std::string>> names;
    std::string told;
    paired = pairs_of_one_height(owner.state());
    for (const HallPair& pair : paired) {
        names.emplace_back(call_sign(pair.one), pair.other ? call_sign(*pair.other) : "the coach");
        told += (told.empty() ? "" : "; ") + std::to_string(names.size()) + " " + names.back().first + " and " +
                names.back().second;
    }
    if (names.empty()) return;
    const bool too_many = names.size() > most_pairs;
    if (too_many) names.resize(most_pairs);
    const Duration left = owner.state().block_began + block.length - owner.time(now);
    const std::uint64_t seed = owner.state().began.seed + static_cast<std::uint64_t>(pairs_of);
    auto given = class_that_fits(*drill, seed, left, std::move(names));
    if (!given) return notice("no pairs: what is left of \"" + block.title + "\" is too short for a round each");
    notice("pairs of one height: " + told);
    if (too_many) notice("the stage has room for ten pairs: those after the tenth do as the first ones");
    pairs.emplace(*given, now);
}

void LiveEvening::State::follow_pairs(HostTime now) {
    const evening::State& state = owner.state();
    const Block* block = state.over ? nullptr : state.current();
    const bool of_pairs = block != nullptr && block->kind == BlockKind::hall && !block->drill.empty();
    const bool goes_on = pairs_paused && !state.paused;
    pairs_paused = state.paused;
    const auto ends = [&] { return now + (state.block_began + block->length - owner.time(now)); };
    // Anew where somebody came or left, or a pause left too little of the block for the rounds that were planned.
    const bool others = of_pairs && pairs && pairs_of_one_height(state) != paired;
    if (block == nullptr || state.block != pairs_of || (!state.paused && others)) {
        pairs.reset();
        pairs_of = block == nullptr ? -1 : state.block;
        if (of_pairs) begin_pairs(*block, now);
    } else if (pairs && goes_on) {
        static_cast<void>(pairs->due(now, false));
        if (pairs->end() > ends()) {
            pairs.reset();
            begin_pairs(*block, now);
        }
        show(*owner.view());
    }
    if (!pairs) return;
    const bool stood = pairs->view().has_value();
    const auto step = pairs->due(now, state.paused);
    if (step && step->tone) cues.play(SoundOrder{tones++, CueSound::set_end, AudioFrame{0}});
    if (step || stood != pairs->view().has_value()) show(*owner.view());
}

// While no session runs nobody else draws: the summary of the last set stands, with who is next, until somebody is
// called; between blocks the block's clock.
void LiveEvening::State::show(const EveningView& view) {
    if (driver.core().engine().in_session()) return;
    const bool summary = resting && view.kind == BlockKind::rounds && view.rig == AtRig::nobody && !view.over;
    StageView shown = summary                  ? *resting
                      : pairs && pairs->view() ? *pairs->view()
                                               : between_turns(view, settings.club_name, driver.now());
    decorate(shown, view, line.empty() ? settings.legend : line);
    cues.show(shown);
}

LiveEvening::LiveEvening(LiveEveningSettings settings, Journal& journal, CueOutput& cues, CaptureWriter* capture)
    : state_(std::make_unique<State>(*this, std::move(settings), journal, cues, capture)) {
    State& s = *state_;
    s.driver.on_begin = [&s](HostTime now) { s.begin(now); };
    s.driver.on_step = [&s](HostTime now) { s.step(now); };
    s.driver.on_stop = [&s](HostTime now) {
        if (!s.leaving_since) s.leaving_since = now;
    };
    s.driver.on_notice = [&s](const std::string& text) { s.notice(text); };
    s.owner.on_notice = [&s](const std::string& text) { s.notice(text); };
    s.owner.on_record = [this](const EveningRecord& record) {
        if (on_record) on_record(record, state_->driver.now());
    };
    s.owner.on_published = [&s](const EveningView& view) { s.show(view); };
    s.driver.core().on_view = [&s](StageView& view) {
        const auto evening = s.owner.view();
        if (view.screen == StageScreen::rest || view.screen == StageScreen::summary) s.resting = view;
        decorate(view, *evening, s.line.empty() ? s.settings.legend : s.line);
    };
}

// The driver's thread is over before the owner lets go of it.
LiveEvening::~LiveEvening() { state_->driver.join(); }

void LiveEvening::start() { state_->driver.watch(); }
bool LiveEvening::finished() const { return state_->driver.finished(); }
Expected<void> LiveEvening::outcome() const { return state_->driver.outcome(); }
bool LiveEvening::over() const { return state_->owner.over(); }

void LiveEvening::ask(Request request, Hand hand, Answered answered) {
    state_->driver.post(
        [&s = *state_, request = std::move(request), hand, answered = std::move(answered)](HostTime now) {
            const Answer answer =
                s.leaving_since ? Answer{AnswerKind::too_late, Why::over} : s.owner.ask(request, hand, now);
            if (answered) answered(answer);
        });
}

void LiveEvening::came(AthleteCame athlete, std::function<void()> known) {
    state_->driver.post([&s = *state_, athlete = std::move(athlete), known = std::move(known)](HostTime now) {
        if (known) known();
        s.owner.came(athlete, now);
    });
}

void LiveEvening::left(AthleteId athlete) {
    state_->driver.post([&s = *state_, athlete](HostTime now) { s.owner.left(athlete, now); });
}

void LiveEvening::leave() { state_->driver.stop(); }

void LiveEvening::say_on_stage(std::string line) {
    state_->driver.post([&s = *state_, line = std::move(line)](HostTime) {
        s.line = line;
        s.show(*s.owner.view());
    });
}

std::shared_ptr<const EveningView> LiveEvening::view() const { return state_->owner.view(); }

std::vector<RepSeen> LiveEvening::reps_since(std::uint64_t number) const { return state_->owner.reps_since(number); }

void LiveEvening::journal_moved() { state_->driver.journal_moved(); }
LiveDriver& LiveEvening::driver() { return state_->driver; }
const EveningOwner& LiveEvening::owner() const { return state_->owner; }

}  // namespace breakstep
