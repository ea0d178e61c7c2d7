#include "tools/demo_evening.hpp"

#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include <algorithm>
#include <cmath>
#include <iostream>
#include <map>
#include <set>

#include "cli/session_setup.hpp"
#include "club/athletes/naming.hpp"
#include "core/evening/evening.hpp"
#include "core/trade/junior.hpp"
#include "hall/drivers/fast_driver.hpp"
#include "hall/evening/evening_owner.hpp"
#include "places.hpp"
#include "settings/drill_file.hpp"
#include "tools/evening_audit.hpp"
#include "tools/simulated_hall.hpp"
#include "tools/subtitle_audit.hpp"

namespace breakstep {
namespace {

using namespace evening;

constexpr HostTime virtual_begin{Duration{1'000'000'000}};
constexpr std::uint64_t demo_seed = 11;
constexpr double plan_minutes = 90;
// Pictures are drawn so often; what a frame was told is seen at its end.
constexpr Duration frame_time{16'666'667};
// Kept often: the rig holds 64 events until they are.
constexpr std::int32_t commit_records = 8;
// With cuts each record is written as it comes: what a cut could take is then what was not said to be kept.
constexpr Duration restart_takes = 8s;

struct Plan {
    double minutes;
    BlockKind kind;
    const char* title;
    Who who;
    const char* drill;
};
constexpr Plan plan_of_the_evening[] = {
    {10, BlockKind::hall, "warm-up", Who::all, ""},
    {4, BlockKind::hall, "watch first", Who::all, ""},
    {20, BlockKind::rounds, "juniors at the rig", Who::juniors, "drop-of-a-single-kick"},
    {3, BlockKind::hall, "drink", Who::all, ""},
    {22, BlockKind::rounds, "adults at the rig", Who::adults, "drop-of-a-single-kick"},
    {3, BlockKind::hall, "change", Who::all, ""},
    {12, BlockKind::rounds, "one set each, in silence", Who::all, "drop-of-a-single-kick"},
    {10, BlockKind::hall, "sparring", Who::all, ""},
    {6, BlockKind::hall, "close", Who::all, ""},
};

Duration minutes_of(double minutes) { return Duration(static_cast<std::int64_t>(std::llround(minutes * 60e9))); }

// What is shown and heard, in the order in which it was.
struct Watch {
    std::vector<WordShown> words;
    std::set<std::pair<SessionId, RepId>> seen;
    std::vector<HostTime> clicks;
    std::optional<HostTime> flash;  ///< as it stood on the screen
};

HostTime drawn_at(HostTime told) {
    const std::int64_t frames = (told - virtual_begin) / frame_time + 1;
    return virtual_begin + frames * frame_time;
}

// One run of the program: what a power cut takes with it.
struct Program {
    Program(const EngineSettings& engine, SimulatedTarget& target, Store& store, const SoundSet& sounds,
            CaptureWriter* capture, HostTime begin, Watch& watch)
        : cues(std::make_unique<CueMixer>(sounds), begin), driver(engine, target, store, cues, capture, begin) {
        cues.keep_starts(CueSound::click, &watch.clicks);
        driver.core().on_view = [this, &watch](StageView& view) {
            if (view.flash && !watch.flash) watch.flash = view.flash;
            const Conduct* conduct = driver.core().engine().conduct();
            const auto session = driver.core().engine().running_session();
            if (!view.verdict || conduct == nullptr || !session || !conduct->scene().verdict) return;
            const RepId rep = conduct->scene().verdict->rep;
            if (watch.seen.insert({*session, rep}).second)
                watch.words.push_back({*session, rep, drawn_at(driver.now())});
        };
    }
    VirtualCues cues;
    FastDriver driver;
};

class DemoEvening {
  public:
    DemoEvening(const CommonOptions& options, const Settings& settings, std::uint64_t seed, const EveningDemo& wanted,
                Store& store)
        : options_(options),
          settings_(settings),
          seed_(seed),
          share_(wanted.minutes / plan_minutes),
          cuts_(wanted.cuts),
          store_(store),
          ids_(seed) {}

    [[nodiscard]] Expected<EveningFigures> run();

  private:
    [[nodiscard]] Expected<void> invent_club();
    [[nodiscard]] Expected<void> read_drills();
    [[nodiscard]] EveningClub club();
    [[nodiscard]] EveningBegan began();
    [[nodiscard]] std::vector<HostTime> cut_times(HostTime began) const;
    [[nodiscard]] std::vector<HallMember> members() const;

    const CommonOptions& options_;
    const Settings& settings_;
    const std::uint64_t seed_;
    const double share_;
    const std::int32_t cuts_;
    Store& store_;
    IdSource ids_;
    std::set<std::uint64_t> known_sessions_;
    std::vector<Athlete> athletes_;  ///< beside profiles_
    std::vector<AthleteProfile> profiles_ = sixteen_athletes();
    std::map<std::string, Drill> drills_;
    std::map<AthleteId, std::string> told_;  ///< the drill of the newest session
};

Expected<void> DemoEvening::invent_club() {
    const auto sessions = store_.sessions();
    if (!sessions) return tl::make_unexpected(sessions.error());
    for (const SessionSummary& each : *sessions) known_sessions_.insert(static_cast<std::uint64_t>(each.id));
    for (const AthleteProfile& profile : profiles_) {
        auto athlete = athlete_in(store_, std::string(profile.call_sign), profile.lead, ids_);
        if (!athlete) return tl::make_unexpected(athlete.error());
        athletes_.push_back(std::move(*athlete));
    }
    return {};
}

Expected<void> DemoEvening::read_drills() {
    for (const Plan& each : plan_of_the_evening) {
        if (each.kind != BlockKind::rounds) continue;
        auto drill = load_drill(each.drill, settings_);
        if (!drill) return tl::make_unexpected(drill.error());
        drills_[each.drill] = std::move(*drill);
    }
    return {};
}

EveningBegan DemoEvening::began() {
    EveningBegan began;
    began.evening = EveningId{ids_.next()};
    began.unix_seconds = unix_now();
    began.seed = seed_;
    for (const Plan& each : plan_of_the_evening)
        began.blocks.push_back({each.kind, minutes_of(each.minutes * share_), each.title, each.who, each.drill});
    return began;
}

// Latest first.
std::vector<HostTime> DemoEvening::cut_times(HostTime began) const {
    Random random(seed_, 0x637574);
    std::vector<HostTime> times;
    for (std::int32_t i = 0; i < cuts_; ++i)
        times.push_back(began + minutes_of(plan_minutes * share_ * random.uniform(0, 0.95)));
    std::sort(times.rbegin(), times.rend());
    return times;
}

EveningClub DemoEvening::club() {
    EveningClub club;
    club.fresh_session = [this] {
        std::uint64_t id = ids_.next();
        while (!known_sessions_.insert(id).second) id = ids_.next();
        return SessionId{id};
    };
    club.dose = [this](const Person& person, const Block& block) -> std::optional<DoseGiven> {
        Drill drill = drills_.at(block.drill);
        const bool all = block.who == Who::all;
        const Dose dose = dose_for(person.age, {drill.reps, all ? 1 : 3});
        drill = in_sets_of(std::move(drill), dose.reps);
        constexpr Duration count = 2600ms;
        return DoseGiven{person.athlete, block.drill, dose.reps, dose.sets, count + set_length(drill), false};
    };
    club.session = [this](AthleteId id, const std::string& drill) -> Expected<SessionBegan> {
        const auto athlete =
            std::find_if(athletes_.begin(), athletes_.end(), [id](const Athlete& each) { return each.id == id; });
        if (athlete == athletes_.end())
            return failure(ErrorKind::not_found, "nobody of that id is here", "look at who was ticked");
        told_[id] = drill;
        SessionBegan began;
        began.athlete = id;
        began.athlete_lead = athlete->lead;
        began.unix_seconds = unix_now();
        began.seed = ids_.next();
        began.drill = as_met_by(drills_.at(drill), athlete->lead);
        return began;
    };
    club.call_sign = [this](AthleteId id) {
        for (const Athlete& each : athletes_)
            if (each.id == id) return each.call_sign;
        return std::string();
    };
    club.names = [this, call_sign = club.call_sign](AthleteId id, const SessionBegan& began) {
        SceneNames names;
        names.club = settings_.club;
        names.athlete = call_sign(id);
        names.drill_title = began.drill.title;
        names.seed = began.seed;
        names.lift = began.drill.opponent.lift;
        names.spread = began.drill.opponent.spread;
        for (const AthleteProfile& profile : profiles_)
            if (profile.call_sign == names.athlete) {
                names.child = is_child(static_cast<std::int32_t>(profile.age));
                names.nudged = profile.age >= nudge_from_years;
            }
        return names;
    };
    return club;
}

// Two come late, one of them in the midst of the juniors' rounds; one leaves in the adults'.
std::vector<HallMember> DemoEvening::members() const {
    std::vector<HallMember> members;
    for (std::size_t i = 0; i < athletes_.size(); ++i) {
        HallMember member{athletes_[i].id, profiles_[i], {}, std::nullopt};
        if (profiles_[i].call_sign == "Godwit") member.comes = minutes_of(18 * share_);
        if (profiles_[i].call_sign == "Wigeon") member.comes = minutes_of(30 * share_);
        if (profiles_[i].call_sign == "Egret") member.leaves = minutes_of(48 * share_);
        members.push_back(member);
    }
    return members;
}

Expected<EveningFigures> DemoEvening::run() {
    if (const auto read = read_drills(); !read) return tl::make_unexpected(read.error());
    if (const auto made = invent_club(); !made) return tl::make_unexpected(made.error());
    EngineSettings engine = engine_settings(settings_, seed_);
    engine.devices.sound = true;
    auto sounds = load_sounds(BREAKSTEP_SOUNDS_DIR);
    if (!sounds) return tl::make_unexpected(sounds.error());
    std::optional<CaptureWriter> capture;
    if (!options_.capture.empty()) {
        auto created = CaptureWriter::create(options_.capture, engine);
        if (!created) return tl::make_unexpected(created.error());
        capture.emplace(std::move(*created));
    }
    SimulatedTarget target(simulated_target_settings(seed_), virtual_begin);
    Watch watch;
    const auto start_program = [&](HostTime now) {
        return std::make_unique<Program>(engine, target, store_, *sounds, capture ? &*capture : nullptr, now, watch);
    };
    std::unique_ptr<Program> program = start_program(virtual_begin);
    program->driver.pass(5s);
    auto owner = std::make_unique<EveningOwner>(club(), program->driver.core(), store_);
    SimulatedHall hall(members(), HallTroubles{}, seed_, target, *owner, [&](AthleteId id) {
        const auto told = told_.find(id);
        return drills_.at(told == told_.end() ? owner->state().current()->drill : told->second);
    });
    const auto listen = [&] {
        owner->on_record = [&](const EveningRecord& record) { hall.saw(record, program->driver.now()); };
    };
    listen();
    const HostTime evening_began = program->driver.now();
    const EveningBegan first = began();
    owner->begin(first, evening_began);
    const HostTime longest = evening_began + 3 * minutes_of(plan_minutes * share_) + 1800s;
    std::vector<HostTime> cuts = cut_times(evening_began);
    while (!owner->over()) {
        const HostTime now = program->driver.now();
        owner->poll(now);
        HostTime next = std::min(longest, now + 1s);
        for (const auto& due : {owner->next_due(), hall.next_due()})
            if (due && *due > now) next = std::min(next, *due);
        program->driver.advance(next);
        hall.due(program->driver.now());
        if (const auto trouble = store_.failure()) return tl::make_unexpected(*trouble);
        if (program->driver.now() >= longest)
            return failure(ErrorKind::device, "the evening did not end", "report this with the seed");
        if (cuts.empty() || program->driver.now() < cuts.back()) continue;
        cuts.pop_back();
        // As a power cut leaves it: nothing of the program is left but its store. The rig lives on.
        const HostTime back = program->driver.now() + restart_takes;
        owner.reset();
        program.reset();
        EveningStores stores(store_);
        const auto lead = [this](AthleteId id) {
            const auto athlete =
                std::find_if(athletes_.begin(), athletes_.end(), [id](const Athlete& each) { return each.id == id; });
            return athlete == athletes_.end() ? Side::right : athlete->lead;
        };
        auto cut = read_cut_evening(stores, {first.evening, back - evening_began, back, club().fresh_session, lead});
        if (!cut) return tl::make_unexpected(cut.error());
        engine.link.known = cut->known;
        program = start_program(back);
        owner = std::make_unique<EveningOwner>(club(), program->driver.core(), store_);
        hall.follow(*owner);
        listen();
        owner->go_on(std::move(*cut), back - evening_began, unix_now(), back);
    }
    program->driver.core().poll(program->driver.now());
    hall.due(program->driver.now());
    if (capture)
        if (auto closed = capture->close(); !closed) return tl::make_unexpected(closed.error());
    if (const auto written = store_.flush(); !written) return tl::make_unexpected(written.error());
    Witnessed witnessed{evening_began, hall.strikes(), hall.stood(), watch.words, watch.clicks};
    auto figures = audit_evening(store_, first.evening, witnessed);
    if (figures && watch.flash) {
        const auto subtitles = audit_subtitles(store_, *watch.flash, witnessed.strikes);
        if (!subtitles) return tl::make_unexpected(subtitles.error());
        figures->subtitled = subtitles->reps;
        figures->subtitles_off_ms = subtitles->worst_ms;
    }
    if (figures) figures->touches_by_coach = hall.touches();
    return figures;
}

std::string rounded(double value, int places) { return fmt::format("{:.{}f}", value, places); }

nlohmann::ordered_json json_of(const EveningFigures& figures) {
    const auto p99 = [](const std::vector<double>& values) -> nlohmann::ordered_json {
        const auto value = percentile(values, 0.99);
        return value ? nlohmann::ordered_json(std::stod(rounded(*value, 1))) : nlohmann::ordered_json();
    };
    nlohmann::ordered_json json;
    json["athletes"] = figures.athletes;
    json["turns"] = figures.turns;
    json["sets"] = figures.sets;
    json["reps"] = figures.reps;
    json["lost"] = figures.lost;
    json["doubled"] = figures.doubled;
    json["given_to_another"] = figures.given_to_another;
    json["rig_busy_share"] = std::stod(rounded(figures.rig_busy_share, 3));
    json["touches_by_coach"] = figures.touches_by_coach;
    json["minutes_planned"] = std::stod(rounded(figures.minutes_planned, 2));
    json["minutes_taken"] = std::stod(rounded(figures.minutes_taken, 2));
    json["work_rest_broken"] = figures.work_rest_broken;
    json["word_after_contact_ms_p99"] = p99(figures.word_ms);
    json["words_at_once"] = figures.word_ms.size();
    json["words_later"] = figures.words_later;
    json["words_silent"] = figures.words_silent;
    json["click_after_contact_ms_p99"] = p99(figures.click_ms);
    json["clicks"] = figures.click_ms.size();
    json["subtitled"] = figures.subtitled;
    json["subtitles_off_ms_most"] = std::stod(rounded(figures.subtitles_off_ms, 2));
    return json;
}

void print(const EveningFigures& figures) {
    std::cout << fmt::format(
        "{} athletes, {} turns, {} sets, {} reps in {} minutes ({} planned)\n"
        "lost {}, doubled {}, given to another {}; rests too short {}\n"
        "the rig was busy {} % of the rounds; the coach touched {} times\n",
        figures.athletes, figures.turns, figures.sets, figures.reps, rounded(figures.minutes_taken, 1),
        rounded(figures.minutes_planned, 0), figures.lost, figures.doubled, figures.given_to_another,
        figures.work_rest_broken, rounded(100 * figures.rig_busy_share, 0), figures.touches_by_coach);
}

}  // namespace

int run_demo_evening(const CommonOptions& given, const EveningDemo& demo) {
    CommonOptions options = given;
    const auto settings = load_settings(options.settings);
    if (!settings) return complain(settings.error());
    if (const auto may = capture_may_be_made(options); !may) return complain(may.error());
    if (!options.capture.empty() && demo.cuts > 0)
        return complain(
            {ErrorKind::bad_input, "a capture is of one run of the program", "leave --cuts or --capture out"});
    if (!options.fast) std::cerr << "the evening is played at full speed: nobody has " << demo.minutes << " minutes\n";
    const bool keep = options.store.has_value();
    const std::filesystem::path passing =
        std::filesystem::temp_directory_path() / ("breakstep-demo-" + std::to_string(IdSource({}).next()) + ".db");
    StoreOptions wanted;
    wanted.mode = StoreMode::inline_writes;
    wanted.inline_commit_records = demo.cuts > 0 ? 1 : commit_records;
    int code = exit_done;
    {
        auto store = Store::open(keep ? std::filesystem::path(*options.store) : passing, wanted);
        if (!store) return complain(store.error(), exit_not_kept);
        if (keep) note_capture(**store, options);
        DemoEvening evening(options, *settings, options.has_seed ? options.seed : demo_seed, demo, **store);
        const auto figures = evening.run();
        const bool unwritten = (*store)->failure().has_value();
        const auto closed = (*store)->close();
        if (!figures) {
            code = unwritten ? complain(figures.error(), exit_not_kept) : complain(figures.error());
        } else if (!closed) {
            code = complain(closed.error(), exit_not_kept);
        } else {
            if (options.json)
                std::cout << json_of(*figures).dump() << '\n';
            else
                print(*figures);
            if (figures->lost + figures->doubled + figures->given_to_another + figures->work_rest_broken > 0)
                code = exit_failed;
        }
    }
    if (!keep)
        for (const char* suffix : {"", "-wal", "-shm", ".lock"}) {
            std::error_code ignored;
            std::filesystem::remove(passing.string() + suffix, ignored);
        }
    return code;
}

}  // namespace breakstep
