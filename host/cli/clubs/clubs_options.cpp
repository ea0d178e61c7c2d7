// Kept apart: includes the command line library.
#include <CLI/CLI.hpp>

#include <charconv>
#include <memory>

#include "cli/clubs/clubs.hpp"
#include "cli/shared_options.hpp"
#include "cli/timeable/number_within.hpp"

namespace breakstep {
namespace {

constexpr const char* url_text = "the server: postgresql://LOGIN@HOST/DATABASE, never with a password in it";

/// "60s", "5min", "60".
std::optional<double> span_from(const std::string& typed) {
    double number = 0;
    const auto [end, error] = std::from_chars(typed.data(), typed.data() + typed.size(), number);
    const std::string unit(end, typed.data() + typed.size());
    if (error != std::errc() || !(number >= 1 && number <= 86'400)) return std::nullopt;
    if (unit.empty() || unit == "s") return number;
    return unit == "min" ? std::optional(number * 60) : std::nullopt;
}

}  // namespace

void add_clubs(CLI::App& app, std::function<int()>& run) {
    const auto options = std::make_shared<ClubOptions>();
    const auto add = [&](const char* name, const char* text, int (*command)(const ClubOptions&)) {
        auto* sub = app.add_subcommand(name, text);
        add_json(*sub, options->common);
        sub->callback([options, &run, command] { run = [options, command] { return command(*options); }; });
        return sub;
    };
    auto* server =
        add("club-server", "prepare a PostgreSQL database for a club's laptops, or check one", prepare_club_server);
    server->add_option("url", options->url, url_text)->required();
    server->add_flag("--check", options->check, "only look, as a laptop does");
    auto* club = server->add_option("--club", options->club, "let a login in: of which club");
    auto* login = server->add_option("--login", options->login, "the login, made if it is missing");
    server->add_option("--may", options->may, "what the login may: a club's laptop, a coach who reads, a federation")
        ->check(CLI::IsMember({"club", "coach", "federation"}))
        ->needs(login);
    club->needs(login);

    const auto add_copying = [&](CLI::App* sub, const char* option) {
        sub->add_option(option, options->url, url_text)->required();
        add_store(*sub, options->common);
        sub->add_option("--patience", options->patience_seconds, "how many seconds a cut connection is tried again")
            ->check(number_within(0.5, 86'400));
    };
    auto* share = add("share", "send what a club's server lacks of this store", share_with_server);
    add_copying(share, "--to");
    share->add_option_function<std::string>(
        "--every",
        [options](const std::string& typed) {
            options->every_seconds = span_from(typed);
            if (!options->every_seconds)
                throw CLI::ValidationError("--every", "\"" + typed + "\" is no span such as 60s or 5min");
        },
        "again and again, beside an evening: 60s");
    add_copying(add("fetch", "bring a club's sessions and athletes from its server into this store", fetch_from_server),
                "--from");
}

}  // namespace breakstep
