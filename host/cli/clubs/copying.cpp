// share and fetch.
#include <fmt/format.h>

#include <unistd.h>

#include <csignal>
#include <iostream>
#include <nlohmann/json.hpp>
#include <thread>

#include "cli/clubs/clubs.hpp"
#include "cli/session_setup.hpp"
#include "club/athletes/erase.hpp"
#include "club/athletes/naming.hpp"
#include "club/consent/consent_words.hpp"
#include "club/sharing/copying.hpp"
#include "store/text_rules.hpp"

namespace breakstep {
namespace {

using sharing::CopyReport;

volatile std::sig_atomic_t asked_to_stop = 0;

/// The store, for reading at once and for writing when something has to be changed here.
class OpenedStore {
  public:
    OpenedStore(const CommonOptions& options, const Settings& settings) : options_(options), settings_(settings) {}

    Expected<void> open_for_reading() {
        auto opened = open_store(options_, settings_, StoreMode::read_only);
        if (!opened) return tl::make_unexpected(opened.error());
        reading_ = std::move(*opened);
        return {};
    }
    Expected<Store*> for_writing() {
        if (writing_) return writing_.get();
        auto opened = open_store(options_, settings_, StoreMode::own_thread);
        if (!opened) return tl::make_unexpected(opened.error());
        writing_ = std::move(*opened);
        return writing_.get();
    }
    [[nodiscard]] const Store& reading() const { return writing_ && !reading_ ? *writing_ : *reading_; }
    Expected<void> close() { return writing_ ? writing_->close() : Expected<void>{}; }

    [[nodiscard]] sharing::Local local() {
        return {[this] { return for_writing(); },
                [this](Store& store, const Athlete& athlete) -> Expected<void> {
                    // A reader that holds an old state keeps its pages.
                    if (const auto closed = reading_ ? reading_->close() : Expected<void>{}; !closed) return closed;
                    auto erasing = what_erasing_takes(store, athlete);
                    if (!erasing) return tl::make_unexpected(erasing.error());
                    if (auto erased = breakstep::erase(store, *erasing); !erased) return erased;
                    erased_.push_back(std::move(*erasing));
                    return {};
                },
                today_here()};
    }
    [[nodiscard]] const std::vector<Erasing>& erased() const { return erased_; }

  private:
    const CommonOptions& options_;
    const Settings& settings_;
    std::unique_ptr<Store> reading_, writing_;
    std::vector<Erasing> erased_;
};

void tell_contact(const sharing::ContactReport& contact, const std::vector<Erasing>& erased) {
    for (const Erasing& one : erased) {
        std::cerr << shown_text(fmt::format("{} was erased elsewhere, and is erased here with {}", shown(one.athlete),
                                            count_of(one.sessions, "session")))
                  << '\n';
        for (const CopyHolding& copy : one.copies.holding)
            std::cerr << shown_text("still held by " + copy.path.string() + ": erase there too, or delete that file")
                      << '\n';
        for (const auto& path : one.files.perhaps)
            std::cerr << shown_text(path.string() + " shows the athlete among others, or may do so") << '\n';
    }
    if (contact.erased_there > 0)
        std::cerr << count_of(contact.erased_there, "athlete")
                  << " erased on the server too (its own backups and write-ahead log forget when whoever runs it lets "
                     "them)\n";
    if (contact.athletes_withdrawn > 0)
        std::cerr << count_of(contact.athletes_withdrawn, "athlete")
                  << " taken off the server: a yes to share was taken back or ran out\n";
    for (const sharing::Twins& twins : contact.twins)
        std::cerr << shown_text(fmt::format(
                         "two athletes are called {}: {} and {}; if they are one, fetch, then `breakstep athletes join "
                         "{} {}`",
                         twins.call_sign, id_text(twins.here), id_text(twins.there), id_text(twins.here),
                         id_text(twins.there)))
                  << '\n';
    for (const std::string& what : contact.put_off)
        std::cerr << what << ": another breakstep is writing the store; share or fetch again after the evening\n";
}

nlohmann::json json_of(const CopyReport& report) {
    const sharing::ContactReport& contact = report.contact;
    nlohmann::json twins = nlohmann::json::array();
    for (const sharing::Twins& one : contact.twins)
        twins.push_back({{"call_sign", one.call_sign}, {"here", id_text(one.here)}, {"there", id_text(one.there)}});
    return {{"sessions", report.sessions},
            {"events", report.events},
            {"reps", report.reps},
            {"measures", report.measures},
            {"sessions_at_home", report.sessions_at_home},
            {"athletes_not_shared", contact.not_shared},
            {"athletes_sent", contact.athletes_sent},
            {"athletes_taken", contact.athletes_taken},
            {"erased_here", contact.erased_here},
            {"erased_there", contact.erased_there},
            {"joined_here", contact.joined_here},
            {"joined_there", contact.joined_there},
            {"withdrawn", contact.athletes_withdrawn},
            {"connections", report.connections},
            {"put_off", contact.put_off},
            {"twins", twins}};
}

void print_copied(const CopyReport& report, const char* verb, const std::string& shown) {
    std::cout << fmt::format("{} {}: {}, {}, {}, {}\n", verb, shown, count_of(report.sessions, "new session"),
                             count_of(report.events, "record"), count_of(report.reps, "rep"),
                             count_of(report.measures, "imported value"));
    if (report.sessions_at_home > 0)
        std::cout << fmt::format("{} stay here: of {} without a yes to share, or of nobody\n",
                                 count_of(report.sessions_at_home, "session"),
                                 count_of(report.contact.not_shared, "athlete"));
}

sharing::CopyOptions copy_options(const ClubOptions& options, const sharing::ServerUrl& url) {
    sharing::CopyOptions copying;
    copying.url = url;
    copying.patience = std::chrono::milliseconds(static_cast<std::int64_t>(options.patience_seconds * 1000));
    return copying;
}

int tell(const ClubOptions& options, const CopyReport& report, OpenedStore& store, const char* verb,
         const std::string& shown) {
    if (const auto closed = store.close(); !closed) return complain(closed.error(), exit_not_kept);
    tell_contact(report.contact, store.erased());
    if (options.common.json)
        std::cout << json_of(report).dump() << '\n';
    else
        print_copied(report, verb, shown);
    return exit_done;
}

int share_once(const ClubOptions& options, const Settings& settings, const sharing::ServerUrl& url,
               sharing::ShareMemory& memory) {
    OpenedStore store(options.common, settings);
    if (const auto opened = store.open_for_reading(); !opened) return complain(opened.error());
    const auto report = sharing::share(store.reading(), store.local(), copy_options(options, url), memory);
    if (!report) return complain(report.error(), exit_failed);
    return tell(options, *report, store, "shared with", url.shown);
}

/// Beside an evening: it must never take the engine's time.
void give_way() {
    if (::nice(19) == -1) std::cerr << "this computer does not let sharing give way to the evening\n";
}

void wait_for(double seconds) {
    const auto until = std::chrono::steady_clock::now() + std::chrono::duration<double>(seconds);
    while (asked_to_stop == 0 && std::chrono::steady_clock::now() < until)
        std::this_thread::sleep_for(std::chrono::milliseconds(200));
}

}  // namespace

int share_with_server(const ClubOptions& options) {
    const auto url = sharing::server_url(options.url);
    if (!url) return complain(url.error());
    const auto settings = load_settings(options.common.settings);
    if (!settings) return complain(settings.error());
    sharing::ShareMemory memory;
    if (!options.every_seconds) return share_once(options, *settings, *url, memory);
    give_way();
    std::signal(SIGINT, [](int) { asked_to_stop = 1; });
    std::signal(SIGTERM, [](int) { asked_to_stop = 1; });
    int code = exit_done;
    while (asked_to_stop == 0) {
        code = share_once(options, *settings, *url, memory);
        std::cout.flush();
        if (code == exit_bad_input) return code;
        wait_for(*options.every_seconds);
    }
    return code;
}

int fetch_from_server(const ClubOptions& options) {
    const auto url = sharing::server_url(options.url);
    if (!url) return complain(url.error());
    const auto settings = load_settings(options.common.settings);
    if (!settings) return complain(settings.error());
    OpenedStore store(options.common, *settings);
    if (const auto writing = store.for_writing(); !writing) return complain(writing.error(), exit_not_kept);
    const auto report = sharing::fetch(store.reading(), store.local(), copy_options(options, *url));
    if (!report) return complain(report.error(), exit_failed);
    return tell(options, *report, store, "fetched from", url->shown);
}

}  // namespace breakstep
