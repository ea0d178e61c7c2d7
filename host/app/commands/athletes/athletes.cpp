// athletes list, add, change, erase.
#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <iostream>

#include "app/commands/athletes/athletes_json.hpp"
#include "app/commands/athletes/csv.hpp"
#include "app/commands/athletes/shared.hpp"
#include "app/commands/athletes/typed_athlete.hpp"
#include "app/commands/session_setup.hpp"
#include "store/daily_backup.hpp"
#include "store/text_rules.hpp"

namespace breakstep {
namespace {

// At most `width` characters, so that a table stays one; the whole text is in --json.
std::string shortened(const std::string& text, std::size_t width) {
    if (characters_in(text) <= width) return text;
    std::size_t characters = 0, at = 0;
    for (; at < text.size(); ++at) {
        const bool begins = (static_cast<unsigned char>(text[at]) & 0xC0U) != 0x80U;
        if (begins && ++characters == width) break;
    }
    return text.substr(0, at) + "…";
}

std::string consent_text(const Athlete& athlete, const std::string& today) {
    const std::string word = consent_word(athlete.consent, today);
    if (word == "none") return word;
    const Consent& consent = *athlete.consent;
    if (word == "expired") return "EXPIRED " + consent.until;
    return consent.until.empty() ? "since " + consent.on : "until " + consent.until;
}

// Names, at most a dozen of them.
std::string names_of(const std::vector<Athlete>& athletes, const std::string& today, const char* consent) {
    constexpr std::size_t names_max = 12;
    std::string names;
    std::size_t count = 0;
    for (const Athlete& athlete : athletes)
        if (consent_word(athlete.consent, today) == consent && ++count <= names_max)
            names += (names.empty() ? "" : ", ") + shortened(shown(athlete), 24);
    return count > names_max ? fmt::format("{} and {} more", names, count - names_max) : names;
}

void print_consents(const std::vector<Athlete>& athletes, const std::string& today) {
    if (const std::string names = names_of(athletes, today, "expired"); !names.empty())
        std::cout << "\nconsent has run out: " << names << '\n';
    if (const std::string names = names_of(athletes, today, "none"); !names.empty())
        std::cout << "\nno consent is kept of: " << names << '\n';
}

void print_athletes(const std::vector<Athlete>& athletes, const std::string& today) {
    constexpr const char* row = "{:<24}  {:<14}  {:<5}  {:<12}  {:<5}  {:<16}  {}\n";
    std::cout << fmt::format(row, "call-sign", "grade", "lead", "height", "born", "group", "consent");
    for (const Athlete& athlete : athletes)
        std::cout << fmt::format(row, shortened(shown(athlete), 24), shortened(athlete.grade, 14), word(athlete.lead),
                                 shortened(athlete.height_band, 12),
                                 athlete.birth_year ? std::to_string(*athlete.birth_year) : "",
                                 shortened(athlete.group, 16), consent_text(athlete, today));
    print_consents(athletes, today);
    if (athletes.empty()) std::cout << "no athletes yet: `breakstep athletes add CALL-SIGN`\n";
}

int told(const Athlete& athlete, const char* what, bool json) {
    if (json)
        std::cout << athletes_json({athlete}, local_date(unix_now()));
    else
        std::cout << shown(athlete) << ' ' << what << '\n';
    return exit_done;
}

void print_copies(const EraseReport& report, const std::string& id) {
    for (const auto& path : report.also_erased_from)
        std::cout << fmt::format("erased from {} too, which is a copy of this store\n", path.string());
    for (const CopyHolding& copy : report.copies.holding)
        std::cout << fmt::format(
            "still held by {} ({}): delete that file, or erase there too:\n"
            "    breakstep athletes erase {} --yes --store {}\n",
            copy.path.string(), count_of(copy.sessions, "session"), id, shell_word(copy.path.string()));
    for (const auto& path : report.copies.unseen)
        std::cout << fmt::format(
            "{} is a copy of the store that can't be looked into now: it may still hold the "
            "athlete\n",
            path.string());
    std::cout << "Copies made in other ways (exports, captures, printed pages, copied files) are not known here.\n";
}

// A restore puts the store that it replaces aside, under a name that belongs to the store, and each day's backup stands
// in a folder that does: erased is erased there too.
void erase_from_own_copies(const Store& store, AthleteId athlete, EraseReport& report) {
    const std::string put_aside = store.path().string() + ".replaced-";
    const auto daily = daily_backups(store.path());
    std::erase_if(report.copies.holding, [&](const CopyHolding& copy) {
        const bool own = copy.path.string().starts_with(put_aside) ||
                         std::find(daily.begin(), daily.end(), copy.path) != daily.end();
        if (!own) return false;
        const auto erased = Store::open(copy.path).and_then(
            [&](auto&& opened) { return opened->erase_athlete(athlete).and_then([&] { return opened->close(); }); });
        if (erased) report.also_erased_from.push_back(copy.path);
        return erased.has_value();
    });
}

// What the store holds of the athlete, counted before it is erased.
Expected<EraseReport> counted(const Store& store, const Athlete& athlete) {
    EraseReport report;
    report.call_sign = shown(athlete);
    const auto sessions = store.sessions();
    if (!sessions) return tl::make_unexpected(sessions.error());
    for (const SessionSummary& session : *sessions) {
        if (session.athlete != athlete.id) continue;
        ++report.sessions;
        report.reps += session.reps;
    }
    const auto measures = store.measures();
    if (!measures) return tl::make_unexpected(measures.error());
    for (const Measure& measure : *measures) report.measures += measure.athlete == athlete.id ? 1 : 0;
    auto copies = copies_that_hold(store, athlete.id);
    if (!copies) return tl::make_unexpected(copies.error());
    report.copies = std::move(*copies);
    return report;
}

}  // namespace

int list_athletes(const KeepingOptions& options) {
    return with_store(options.common, StoreMode::read_only, [&](Store& store) {
        const auto athletes = store.athletes();
        if (!athletes) return complain(athletes.error());
        const std::string today = local_date(unix_now());
        if (options.common.json)
            std::cout << athletes_json(*athletes, today);
        else
            print_athletes(*athletes, today);
        return static_cast<int>(exit_done);
    });
}

int add_athlete(const KeepingOptions& options) {
    Athlete athlete;
    TypedAthlete typed = options.typed;
    typed.call_sign = options.call_sign;
    if (const auto taken = take_typed(typed, athlete); !taken) return complain(taken.error());
    athlete.id = AthleteId{IdSource(std::nullopt).next()};
    athlete.added_unix_seconds = unix_now();
    return with_store(options.common, StoreMode::inline_writes, [&](Store& store) {
        if (const auto added = store.add_athlete(athlete); !added) return complain(added.error());
        return told(athlete, "added", options.common.json);
    });
}

int change_athlete(const KeepingOptions& options) {
    if (options.typed == TypedAthlete{})
        return complain({ErrorKind::bad_input, "nothing to change was said", "see `breakstep athletes change --help`"});
    return with_store(options.common, StoreMode::inline_writes, [&](Store& store) {
        auto athlete = athlete_typed(store, options.call_sign);
        if (!athlete) return complain(athlete.error());
        if (const auto taken = take_typed(options.typed, *athlete); !taken) return complain(taken.error());
        if (const auto changed = store.change_athlete(*athlete); !changed) return complain(changed.error());
        return told(*athlete, "changed", options.common.json);
    });
}

int erase_athlete(const KeepingOptions& options) {
    const StoreMode mode = options.yes ? StoreMode::own_thread : StoreMode::read_only;
    return with_store(options.common, mode, [&](Store& store) {
        const auto athlete = athlete_typed(store, options.call_sign);
        if (!athlete) return complain(athlete.error());
        auto report = counted(store, *athlete);
        if (!report) return complain(report.error());
        const std::string held = report->call_sign + " with " + count_of(report->sessions, "session") + ", " +
                                 count_of(report->reps, "rep") + " and " + count_of(report->measures, "imported value");
        if (!options.yes)
            return complain({ErrorKind::bad_input, "this would erase " + held + " for good",
                             "add --yes if that is meant; nothing was erased"});
        if (const auto erased = store.erase_athlete(athlete->id); !erased)
            return complain(erased.error(), exit_not_kept);
        erase_from_own_copies(store, athlete->id, *report);
        if (options.common.json) {
            std::cout << erase_json(*report);
        } else {
            std::cout << "erased: " << held << '\n';
            print_copies(*report, id_text(athlete->id));
        }
        return static_cast<int>(exit_done);
    });
}

}  // namespace breakstep
