// evening_kills PROGRAM [KILLS] [SEED]: evenings of a minute, killed (-9) at random moments in real time and resumed,
// against the truth of the rig, which lives on. Prints a line for each evening and "N passed, N failed" at the end.
#include <fmt/format.h>

#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iostream>
#include <set>
#include <thread>

#include "devices/serial/serial_port.hpp"
#include "evening/hall.hpp"
#include "evening/program.hpp"
#include "store/store.hpp"

using namespace breakstep;
using namespace breakstep::tests;

namespace {

constexpr Duration look = 5ms, hang = 240s;
const std::vector<std::string> club{"Heron", "Curlew", "Rook", "Dunlin"};

std::filesystem::path new_room() {
    std::string name = (std::filesystem::temp_directory_path() / "breakstep-kills-XXXXXX").string();
    if (mkdtemp(name.data()) == nullptr) throw std::runtime_error("no folder can be made");
    const std::filesystem::path room = name;
    std::filesystem::create_directories(room / ".config/breakstep/drills");
    std::ofstream(room / ".config/breakstep/drills/short.toml")
        << "title = \"Short\"\nsets = 2\nreps = 2\nlevel = \"beginner\"\nwait_extra_s = 0.3\n[[attack]]\nkind = "
           "\"single\"\nmoment = \"drop\"\n";
    std::ofstream(room / "plan.toml")
        << "[[block]]\ntitle = \"rounds\"\nkind = \"rounds\"\ndrill = \"short\"\nminutes = 5\n";
    return room;
}

void add_athletes(const std::string& program, const std::filesystem::path& room) {
    for (const std::string& each : club) {
        Program adds(program,
                     {"athletes", "add", each, "--consent-on", "2026-01-01", "--consent-by", "the club", "--store",
                      (room / "e.db").string()},
                     room);
        while (!adds.ended()) std::this_thread::sleep_for(look);
        if (adds.exit_code() != 0) throw std::runtime_error("no athlete can be added");
    }
}

struct Held {
    EveningFigures figures;
    int kills = 0, out_of_turn = 0;
    bool ended = false;
    HostTime began{};
    std::string last_words;
};

Expected<EveningFigures> audit(const std::filesystem::path& file, Hall& hall, HostTime began) {
    StoreOptions reading;
    reading.mode = StoreMode::read_only;
    const auto store = Store::open(file, reading);
    if (!store) return tl::make_unexpected(store.error());
    const auto night = (*store)->last_evening();
    if (!night) return tl::make_unexpected(night.error());
    if (!*night) return failure(ErrorKind::not_found, "no evening was begun", "look at what the program says");
    const auto athletes = (*store)->athletes();
    if (!athletes) return tl::make_unexpected(athletes.error());
    const auto id_of = [&](const std::string& call_sign) {
        for (const Athlete& each : *athletes)
            if (each.call_sign == call_sign) return each.id;
        return AthleteId{};
    };
    // What was struck before the evening began (the rig's check hears it, and keeps nothing), or after everybody went
    // home, belongs to no evening.
    std::set<std::pair<BootId, std::uint16_t>> known;
    const auto remember = [&known](const JournalEvent& event) {
        if (const auto* hit = std::get_if<PadHit>(&event)) known.insert({hit->at.boot(), hit->sequence});
    };
    const auto kept = (*store)->read_evening((*night)->id, [&](const evening::EveningRecord& record) {
        const auto* outside = std::get_if<evening::KeptOutside>(&record.event);
        if (outside == nullptr) return;
        if (const auto event = breakstep::decode(outside->event, outside->bytes)) remember(*event);
    });
    if (!kept) return tl::make_unexpected(kept.error());
    const auto sessions = (*store)->sessions();
    if (!sessions) return tl::make_unexpected(sessions.error());
    for (const SessionSummary& each : *sessions)
        if (const auto read =
                (*store)->read_records(each.id, [&](const JournalRecord& record) { remember(record.event); });
            !read)
            return tl::make_unexpected(read.error());
    Witnessed seen;
    std::size_t last = 0;
    const auto blows = hall.blows();
    for (std::size_t i = 0; i < blows.size(); ++i)
        if (known.contains({blows[i].truth.boot, blows[i].truth.event.sequence})) last = i + 1;
    for (std::size_t i = 0; i < last; ++i) {
        if (blows[i].truth.at < began) continue;
        seen.strikes.push_back({blows[i].truth.at, blows[i].truth.boot, blows[i].truth.event.sequence,
                                id_of(blows[i].by), static_cast<PadRole>(blows[i].truth.event.as.pad_hit.pad)});
    }
    for (const auto& [at, who] : hall.stood()) seen.stood.emplace_back(at, id_of(who));
    return audit_evening(**store, (*night)->id, seen);
}

Expected<Held> evening_of(const std::string& program, int kills, std::uint64_t seed) {
    const std::filesystem::path room = new_room();
    SimulateRigOptions wanted;
    wanted.seed = seed;
    auto rig = SimulatedRig::open(wanted);
    if (!rig) return tl::make_unexpected(rig.error());
    Hall hall(*rig, club, seed);
    Random random(seed, 0x2d39);
    const std::vector<std::string> arguments{"evening",   "--headless",
                                             "--store",   (room / "e.db").string(),
                                             "--plan",    (room / "plan.toml").string(),
                                             "--minutes", "1",
                                             "--rig",     rig->path()};
    Held held;
    bool asked_all = false, over = false;
    add_athletes(program, room);
    const HostTime gives_up = host_now() + hang;
    while (!over && host_now() < gives_up) {
        Program process(program, arguments, room);
        if (!asked_all) process.type("all\n\n\n\n");
        if (asked_all) hall.program_is_back(host_now());
        // An evening of a minute: the kills fall all over it, the start too.
        const Duration lives(static_cast<std::int64_t>(random.uniform(0.05e9, 30e9)));
        const std::optional<HostTime> killed_at = held.kills < kills ? std::optional(host_now() + lives) : std::nullopt;
        while (!process.ended() && host_now() < gives_up) {
            const HostTime now = host_now();
            for (const std::string& line : process.lines()) {
                hall.heard(line, now);
                held.last_words = line;
                if (!asked_all && line.starts_with("rounds (")) {
                    asked_all = true;
                    held.began = now;
                }
                if (line.find("Good night.") != std::string::npos) over = true;
            }
            if (const std::string typed = hall.due(now); !typed.empty()) process.type(typed);
            if (killed_at && now >= *killed_at && !over && !hall.awaits_answer()) {
                process.kill_at_once();
                ++held.kills;
                break;
            }
            std::this_thread::sleep_for(look);
        }
        hall.program_left();
        for (const std::string& line : process.lines()) {
            held.last_words = line;
            if (line.find("Good night.") != std::string::npos) over = true;
        }
        if (!over && process.exit_code() > 0) break;
    }
    hall.close();
    std::this_thread::sleep_for(std::chrono::milliseconds(200));
    held.ended = over;
    held.out_of_turn = hall.out_of_turn();
    auto figures = audit(room / "e.db", hall, held.began);
    if (!figures) return tl::make_unexpected(figures.error());
    held.figures = *figures;
    if (std::getenv("BREAKSTEP_KEEP") == nullptr) std::filesystem::remove_all(room);
    return held;
}

}  // namespace

int main(int count, char** arguments) {
    if (count < 2) {
        std::cerr << "evening_kills PROGRAM [KILLS] [SEED]\n";
        return 2;
    }
    const int wanted = count > 2 ? std::atoi(arguments[2]) : 50;
    std::uint64_t seed = count > 3 ? std::strtoull(arguments[3], nullptr, 10) : 1;
    int kills = 0, passed = 0, failed = 0;
    constexpr int kills_an_evening = 3;
    while (kills < wanted) {
        const auto held = evening_of(arguments[1], std::min(kills_an_evening, wanted - kills), seed);
        if (!held) {
            ++failed;
            std::cout << fmt::format("seed {}: {}\n", seed, held.error().text());
            return 1;
        }
        const EveningFigures& figures = held->figures;
        const bool good = held->ended && figures.lost + figures.doubled + figures.given_to_another == 0;
        std::cout << fmt::format(
                         "seed {}: killed {} times, {} sets, {} reps, {} out of turn: lost {}, doubled {}, given to "
                         "another {}{}\n",
                         seed, held->kills, figures.sets, figures.reps, held->out_of_turn, figures.lost,
                         figures.doubled, figures.given_to_another,
                         held->ended ? "" : "; it did not end: " + held->last_words)
                  << std::flush;
        ++(good ? passed : failed);
        kills += std::max(1, held->kills);
        ++seed;
    }
    std::cout << fmt::format("{} kills\n{} passed, {} failed\n", kills, passed, failed);
    return failed == 0 ? 0 : 1;
}
