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

Night::Night(const EveningOptions& options, const Settings& settings, SimulatedRig* rig)
    : options_(options), settings_(settings), rig_(rig) {}

Expected<void> Night::open_stores() {
    auto opened = NightStores::open(options_.rig.common, settings_, [this] {
        const std::lock_guard lock(hinted_lock_);
        if (hinted_ != nullptr) hinted_->journal_moved();
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
        comes(live, club, welcome, call_sign, sure);
    };
    desk.leaves = [this, &live](AthleteId athlete) {
        live.left(athlete);
        said_->say("  taken");
    };
    desk.leave = [&live] { live.leave(); };
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

void Night::comes(LiveEvening& live, ClubTonight& club, Welcome& welcome, const std::string& call_sign, bool sure) {
    Store& store = stores_->store();
    const auto known = store.find_athlete(call_sign);
    if (!known) return said_->say(known.error().text());
    if (!*known && !sure) return keyboard_->ask_whether_new(call_sign);
    IdSource ids{std::nullopt};
    const auto athlete = athlete_in(store, call_sign, Side::right, ids);
    if (!athlete) return said_->say(athlete.error().text());
    auto one = welcome.attend(*athlete);
    if (!one) return said_->say(one.error().text());
    // From here on the engine's thread has it.
    auto came = std::make_shared<AthleteCame>(club.came(*one));
    live.came(*came, [&club, &welcome, one = std::make_shared<Attending>(std::move(*one))] {
        welcome.keep_apart(*one);
        club.add(*one);
    });
    said_->say("  taken");
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
        for (const std::string& line : lines_.take()) said_->say(line);
        said_->follow(live);
    }
    for (const std::string& line : lines_.take()) said_->say(line);
    said_->follow(live);
}

int Night::run(NightBegins begins, ClubTonight& club, Welcome& welcome) {
    LiveCues cues(wanted_cues(options_.rig.common, settings_));
    for (const std::string& missing : cues.missing()) std::cerr << "breakstep: " << missing << '\n';
    LiveEveningSettings wanted = live_settings(begins, club);
    wanted.live.engine.devices.sound = cues.has_sound();
    wanted.live.engine.devices.screen = cues.window() != nullptr;
    use_calibrations(stores_->store(), cues.sound_name(), cues.screen_name(), wanted.live.engine);
    std::optional<CaptureWriter> capture;
    if (!options_.rig.common.capture.empty()) {
        note_capture(stores_->store(), options_.rig.common);
        auto created = CaptureWriter::create(options_.rig.common.capture, wanted.live.engine);
        if (!created) return complain(created.error());
        capture.emplace(std::move(*created));
    }
    const std::uint64_t seed = wanted.began.seed;
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
        }
        said_.emplace(TerminalKeys().is_terminal());
        keyboard_.emplace(desk(live, club, welcome));
        std::cout << "\nKeys: " << KeyboardHand::legend() << '\n' << std::flush;
        {
            const std::lock_guard lock(hinted_lock_);
            hinted_ = &live;
        }
        live.start();
        serve(live, cues);
        {
            const std::lock_guard lock(hinted_lock_);
            hinted_ = nullptr;
        }
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
