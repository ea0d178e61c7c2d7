#include "cli/evening/night.hpp"

#include <fmt/format.h>

#include <cctype>
#include <chrono>
#include <iostream>
#include <thread>

#include "cli/consent/tonight_store.hpp"
#include "cli/evening/terminal_keys.hpp"
#include "cli/live_window.hpp"
#include "club/athletes/naming.hpp"
#include "club/csv/csv.hpp"
#include "club/term/term.hpp"
#include "core/error.hpp"
#include "devices/serial/serial_port.hpp"

namespace breakstep {

using namespace evening;

namespace {

ExitCode code_of_rig_error(const Error& error) {
    return error.kind == ErrorKind::bad_input ? exit_bad_input : exit_no_rig;
}

}  // namespace

void Night::Lines::put(std::string line) {
    const std::lock_guard lock(lock_);
    waiting_.push_back(std::move(line));
}

std::vector<std::string> Night::Lines::take() {
    const std::lock_guard lock(lock_);
    return std::exchange(waiting_, {});
}

void Night::Errands::put(std::function<void()> errand) {
    const std::lock_guard lock(lock_);
    waiting_.push_back(std::move(errand));
}

void Night::Errands::run() {
    std::vector<std::function<void()>> all;
    {
        const std::lock_guard lock(lock_);
        all = std::exchange(waiting_, {});
    }
    for (const auto& errand : all) errand();
}

Night::Night(const EveningOptions& options, const Settings& settings, SimulatedRig* rig)
    : options_(options), settings_(settings), rig_(rig) {}

Expected<void> Night::open_stores() {
    auto opened = NightStores::open(options_.rig.common, settings_, [this] {
        const std::lock_guard lock(live_lock_);
        if (live_ != nullptr) live_->journal_moved();
    });
    if (!opened) return tl::make_unexpected(opened.error());
    stores_ = std::move(*opened);
    return {};
}

LiveEveningSettings Night::live_settings(NightBegins& begins, ClubTonight& club) const {
    LiveEveningSettings wanted;
    wanted.live.engine = engine_settings(settings_, begins.began.seed);
    wanted.live.port = options_.rig.port.empty() ? settings_.rig_port : options_.rig.port;
    // A pty has no wire: its bytes take no time.
    if (leads_to_pty(wanted.live.port)) wanted.live.engine.link.byte_time = Duration{};
    if (begins.cut) wanted.live.engine.link.known = begins.cut->known;
    wanted.club = club.club();
    wanted.club_name = settings_.club;
    wanted.began = std::move(begins.began);
    wanted.present = std::move(begins.present);
    wanted.cut = std::move(begins.cut);
    wanted.cut_at = begins.cut_at;
    wanted.gone = std::move(begins.gone);
    wanted.legend = KeyboardHand::legend();
    return wanted;
}

KeyboardDesk Night::desk(LiveEvening& live, ClubTonight& club, Welcome& welcome) {
    KeyboardDesk desk;
    desk.ask = [this, &live](Request request) {
        live.ask(std::move(request), Hand::keyboard,
                 [this](const Answer& answer) { lines_.put("  " + words_of(answer)); });
    };
    desk.comes = [this, &live, &club, &welcome](const std::string& call_sign, bool sure) {
        const auto words = admit(live, club, welcome, call_sign, sure);
        if (words) return said_->say(*words);
        keyboard_->ask_whether_new(call_sign);
    };
    desk.leaves = [this, &live](AthleteId athlete) {
        live.left(athlete);
        said_->say("  taken");
    };
    desk.leave = [&live] { live.leave(); };
    if (desk_) desk.pair = [this] { tell_digits(); };
    desk.say = [this](const std::string& line) { said_->say(line); };
    desk.show_question = [this, &live](const std::string& line) {
        said_->question(line);
        live.say_on_stage(line);
    };
    for (const Drill& drill : club.drills()) {
        desk.drill_names.push_back(drill.name);
        desk.drill_titles.push_back(drill.title.empty() ? drill.name : drill.title);
    }
    return desk;
}

std::optional<std::string> Night::admit(LiveEvening& live, ClubTonight& club, Welcome& welcome,
                                        const std::string& call_sign, bool sure) {
    Store& store = stores_->store();
    const auto known = store.find_athlete(call_sign);
    if (!known) return known.error().text();
    if (!*known && !sure) return std::nullopt;
    IdSource ids{std::nullopt};
    const auto athlete = athlete_in(store, call_sign, Side::right, ids);
    if (!athlete) return athlete.error().text();
    auto one = welcome.attend(*athlete);
    if (!one) return one.error().text();
    // From here on the engine's thread has it.
    auto came = std::make_shared<AthleteCame>(club.came(*one));
    live.came(*came, [&club, &welcome, one = std::make_shared<Attending>(std::move(*one))] {
        welcome.keep_apart(*one);
        club.add(*one);
    });
    return "  taken";
}

// ---- the desk ---------------------------------------------------------------------------------------------------

// In order of sessions; of an evening that was cut off, what the desk's phones may have seen.
Expected<std::vector<RepSeen>> Night::reps_before(EveningId evening) {
    std::vector<RepSeen> all;
    const auto tonight = stores_->tonight_if_there();
    if (!tonight) return tl::make_unexpected(tonight.error());
    for (Store* store : {&stores_->store(), *tonight}) {
        if (store == nullptr) continue;
        const auto sessions = store->sessions();
        if (!sessions) return tl::make_unexpected(sessions.error());
        for (const SessionSummary& each : *sessions) {
            if (evening_of(each.began_unix_seconds) != evening_of(unix_now())) continue;
            bool is_of = false;
            const auto read = store->read_records(each.id, [&](const JournalRecord& record) {
                if (const auto* began = std::get_if<SessionBegan>(&record.event)) is_of = began->evening == evening;
            });
            if (!read) return tl::make_unexpected(read.error());
            if (!is_of) continue;
            const auto reps = store->reps(each.id);
            if (!reps) return tl::make_unexpected(reps.error());
            for (const RepResult& rep : *reps) all.push_back({0, each.id, each.athlete.value_or(AthleteId{}), rep});
        }
    }
    return all;
}

void Night::tell_digits() {
    if (desk_)
        desk_->new_digits([this](const std::string& lines) { lines_.put(lines); },
                          options_.desk.hall && TerminalKeys().is_terminal());
}

void Night::runs(LiveEvening* live, Comes comes) {
    const std::lock_guard lock(live_lock_);
    live_ = live;
    comes_ = std::move(comes);
}

// Whatever runs is asked under the lock: it goes only when nobody is asking it.
desk::DeskHouse Night::house() {
    desk::DeskHouse house = house_without_evening(options_.rig.common, settings_);
    house.questions = &questions_;
    house.view = [this]() -> std::shared_ptr<const EveningView> {
        const std::lock_guard lock(live_lock_);
        return live_ == nullptr ? nullptr : live_->view();
    };
    house.reps_since = [this](std::uint64_t number) {
        const std::lock_guard lock(live_lock_);
        return live_ == nullptr ? std::vector<RepSeen>{} : live_->reps_since(number);
    };
    house.ask = [this](Request request, const std::function<void(const Answer&)>& answered) {
        const std::lock_guard lock(live_lock_);
        if (live_ == nullptr) return answered({AnswerKind::refused, Why::no_turn});
        live_->ask(std::move(request), Hand::desk, answered);
    };
    house.leaves = [this](AthleteId athlete) {
        const std::lock_guard lock(live_lock_);
        if (live_ != nullptr) live_->left(athlete);
    };
    house.comes = [this](const std::string& call_sign, bool sure, const std::function<void(std::string)>& said) {
        const std::lock_guard lock(live_lock_);
        if (!comes_) return said("the evening has not begun: say it where you are asked who is here");
        comes_(call_sign, sure, said);
    };
    return house;
}

void Night::open_desk() { open_desk({}); }

void Night::open_desk(std::vector<RepSeen> before) {
    desk::DeskHouse has = house();
    has.before = std::move(before);
    desk::ServerOptions wanted;
    wanted.port = options_.desk.port;
    wanted.hall = options_.desk.hall;
    wanted.folder = desk_folder(store_path(options_.rig.common, settings_));
    auto opened = desk::DeskServer::open(std::move(has), wanted);
    if (!opened) {
        std::cerr << "breakstep: " << opened.error().text() << " The evening goes on without a desk.\n";
        return;
    }
    desk_ = std::move(*opened);
    desk_->on_notice = [this](const std::string& line) { lines_.put("desk: " + shown_text(line)); };
    desk_->start();
    tell_digits();
    say_lines();
}

void Night::say_lines() {
    for (const std::string& line : lines_.take()) {
        if (said_)
            said_->say(line);
        else
            std::cout << line << '\n' << std::flush;
    }
}

void Night::window_keys(LiveEvening& live, StageWindow& window) {
    constexpr char escape = 27, backspace = 8;
    while (const auto event = window.next_event()) {
        const auto view = live.view();
        if (event->kind == StageEvent::Kind::quit) live.leave();
        if (event->kind == StageEvent::Kind::escape) keyboard_->key(escape, *view);
        if (event->kind == StageEvent::Kind::tap) keyboard_->key(' ', *view);
        if (event->kind != StageEvent::Kind::key) continue;
        if (event->key.size() == 1)
            keyboard_->key(static_cast<char>(std::tolower(static_cast<unsigned char>(event->key.front()))), *view);
        if (event->key == "Return") keyboard_->key('\n', *view);
        if (event->key == "Backspace") keyboard_->key(backspace, *view);
    }
}

void Night::serve(LiveEvening& live, LiveCues& cues) {
    constexpr auto nap = std::chrono::milliseconds(20);
    TerminalKeys keys;
    while (!live.finished()) {
        if (StageWindow* window = cues.window()) {
            window->frame();
            window_keys(live, *window);
        } else {
            std::this_thread::sleep_for(nap);
        }
        while (const auto key = keys.next()) keyboard_->key(*key, *live.view());
        errands_.run();
        say_lines();
        said_->follow(live);
    }
    errands_.run();
    say_lines();
    said_->follow(live);
}

int Night::run(NightBegins begins, ClubTonight& club, Welcome& welcome) {
    LiveCues cues(wanted_cues(options_.rig.common, settings_));
    for (const std::string& missing : cues.missing()) std::cerr << "breakstep: " << missing << '\n';
    LiveEveningSettings wanted = live_settings(begins, club);
    wanted.live.engine.devices.sound = cues.has_sound();
    wanted.live.engine.devices.words = cues.words();
    wanted.live.engine.devices.screen = cues.window() != nullptr;
    wanted.live.engine.devices.partner_screen = options_.desk.open;  // a phone beside the partner
    use_calibrations(stores_->store(), cues.sound_name(), cues.screen_name(), wanted.live.engine);
    std::optional<CaptureWriter> capture;
    if (!options_.rig.common.capture.empty()) {
        note_capture(stores_->store(), options_.rig.common);
        auto created = CaptureWriter::create(options_.rig.common.capture, wanted.live.engine);
        if (!created) return complain(created.error());
        capture.emplace(std::move(*created));
    }
    const std::uint64_t seed = wanted.began.seed;
    const EveningId evening = wanted.began.evening;
    Expected<void> outcome;
    bool over = false;
    {
        LiveEvening live(std::move(wanted), stores_->journal(), cues, capture ? &*capture : nullptr);
        live.on_notice = [this](const std::string& text) { lines_.put("breakstep: " + shown_text(text)); };
        if (rig_ != nullptr) {
            const auto told = [&club](const std::string& name) {
                const Drill* drill = club.drill(name);
                return drill == nullptr ? Drill{} : *drill;
            };
            members_.emplace(*rig_, live.owner(), seed, club.club().call_sign, told);
            live.on_record = [this](const EveningRecord& record, HostTime now) { members_->saw(record, now); };
            live.on_step = [this](HostTime now) { members_->due(now); };
            live.driver().core().on_partner_cue = [this, before = live.driver().core().on_partner_cue](
                                                      const PartnerCue& cue) {
                rig_->post([what = cue.what](SimulatedTarget& target, HostTime at) { target.tell_partner(at, what); });
                if (before) before(cue);
            };
        }
        said_.emplace(TerminalKeys().is_terminal());
        if (options_.desk.open && !desk_) {
            auto before = reps_before(evening);
            if (!before)
                std::cerr << "breakstep: the desk does not show what was before: " << before.error().text() << '\n';
            open_desk(before.value_or(std::vector<RepSeen>{}));
        }
        keyboard_.emplace(desk(live, club, welcome));
        std::cout << "\nKeys: " << KeyboardHand::legend() << '\n' << std::flush;
        runs(&live, [this, &live, &club, &welcome](const std::string& call_sign, bool sure,
                                                   const std::function<void(std::string)>& said) {
            errands_.put([this, &live, &club, &welcome, call_sign, sure, said] {
                const auto words = admit(live, club, welcome, call_sign, sure);
                said(words ? std::string(trimmed(*words))
                           : "Nobody is called " + shown_text(call_sign) + ". A new athlete?");
            });
        });
        live.start();
        if (desk_) std::cout << "q: digits for another phone\n" << std::flush;
        serve(live, cues);
        if (desk_ && live.over()) desk_->forget_phones();
        desk_.reset();
        runs(nullptr, {});
        outcome = live.outcome();
        over = live.over();
    }
    if (capture)
        if (auto closed = capture->close(); !closed) return complain(closed.error());
    return end(over, outcome);
}

int Night::end(bool over, const Expected<void>& outcome) {
    if (const auto closed = stores_->close(); !closed) return complain(closed.error(), exit_not_kept);
    stores_.reset();
    if (!outcome) return complain(outcome.error(), code_of_rig_error(outcome.error()));
    if (!over) {
        std::cout << "The evening stands where it is: `breakstep evening` goes on with it tonight.\n";
        return exit_done;
    }
    end_tonight(store_path(options_.rig.common, settings_));
    std::cout << "Good night.\n";
    return exit_done;
}

}  // namespace breakstep
