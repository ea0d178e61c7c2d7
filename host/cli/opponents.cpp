// opponents list and opponents copy.
#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include <filesystem>
#include <iostream>

#include "cli/athletes/shared.hpp"
#include "cli/commands.hpp"
#include "cli/consent/copies_gone.hpp"
#include "cli/session_setup.hpp"
#include "club/athletes/naming.hpp"
#include "club/consent/consent_words.hpp"
#include "club/opponents/copied_opponent.hpp"
#include "devices/simulated/athlete_profile.hpp"
#include "files/new_file.hpp"
#include "files/place.hpp"
#include "settings/countering_keys.hpp"

namespace breakstep {
namespace {

using Json = nlohmann::ordered_json;

Json kinds_json(const copying::PartnerCopy& copy) {
    Json kinds = Json::object();
    for (std::size_t i = 0; i < copying::kind_count; ++i)
        if (copy.counts[i] > 0) kinds[std::string(word(static_cast<AttackKind>(i)))] = copy.counts[i];
    return kinds;
}

void print_copy(const copying::PartnerCopy& copy, const Athlete& partner, const std::string& name,
                const std::filesystem::path& path) {
    std::cout << fmt::format("{}: learned from {} kicks in {}, {} of them where nobody asked\n", shown(partner),
                             copy.kicks, count_of(static_cast<std::int64_t>(copy.sessions), "session"), copy.own_kicks);
    for (std::size_t i = 0; i < copying::kind_count; ++i)
        if (copy.counts[i] > 0)
            std::cout << fmt::format("  {:<14}{:>4} of {}\n", word(static_cast<AttackKind>(i)), copy.counts[i],
                                     copy.own_kicks);
    std::cout << (copy.order.any() ? "  in an order of their own\n" : "  in no order that was seen\n");
    if (copy.after_two_retreats) std::cout << "  kicks at whoever gives ground twice\n";
    if (copy.after_one_retreat) std::cout << "  kicks at whoever gives ground\n";
    std::cout << fmt::format("written: {}\na drill plays it by: against = \"{}\"\n", path.string(), name);
}

}  // namespace

int list_opponents_there_are(const OpponentOptions& options) {
    const auto settings = load_settings(options.common.settings);
    if (!settings) return complain(settings.error());
    forget_copies(options.common, *settings);
    std::vector<Error> unusable;
    const auto opponents = list_opponents(*settings, unusable);
    if (!opponents) return complain(opponents.error());
    Json list = Json::array();
    for (const Drill& each : *opponents) {
        if (options.common.json) {
            Json one;
            one["name"] = each.manners.opponent;
            one["title"] = each.title;
            one["for"] = each.whom;
            one["level"] = word(each.level);
            one["own_order"] = !each.order.empty();
            list.push_back(std::move(one));
        } else {
            std::cout << fmt::format("{:<18}{}\n{:<18}{}\n", each.manners.opponent, each.title, "", each.whom);
        }
    }
    if (options.common.json) {
        Json whole;
        whole["opponents"] = list;
        std::cout << whole.dump(2) << '\n';
    }
    for (const Error& error : unusable) std::cerr << "breakstep: " << error.text() << '\n';
    return exit_done;
}

int copy_partner(const OpponentOptions& options) {
    return with_whole_store(options.common, [&](Store& store) {
        const auto partner = athlete_typed(store, options.call_sign);
        if (!partner) return complain(partner.error());
        if (options.simulated && !find_athlete(partner->call_sign))
            return complain({ErrorKind::bad_input,
                             shown(*partner) + " is nobody of the simulated club, so they are asked",
                             "leave --simulated out; once they said yes: breakstep athletes change " + shown(*partner) +
                                 " --consent-on DATE --consent-by WHOM"});
        const auto copy = study_partner(store, *partner, today_here(), options.simulated);
        if (!copy) return complain(copy.error());
        const std::string name = options.name.empty() ? opponent_name(*partner) : options.name;
        const std::filesystem::path folder = opponent_folders().front(), path = folder / (name + ".toml");
        if (const auto made = files::make_folder(folder); !made) return complain(made.error());
        // A copy of the same partner is learned anew; any other file stays.
        const bool own = copied_from(path) == static_cast<std::uint64_t>(partner->id);
        const auto written =
            files::write_whole(path, opponent_text(*copy, *partner),
                               own || options.overwrite ? files::Existing::replace : files::Existing::refuse);
        if (!written) return complain(written.error());
        note_made_in(store, folder);
        if (options.common.json) {
            Json json;
            json["partner"] = shown(*partner);
            json["name"] = name;
            json["file"] = path.string();
            json["sessions"] = copy->sessions;
            json["kicks"] = copy->kicks;
            json["own_kicks"] = copy->own_kicks;
            json["kinds"] = kinds_json(*copy);
            json["own_order"] = copy->order.any();
            json["level"] = word(copy->level);
            json["wait_minimum_s"] = static_cast<double>(copy->wait_minimum.count()) / 1e9;
            json["wait_extra_s"] = static_cast<double>(copy->wait_extra.count()) / 1e9;
            std::cout << json.dump(2) << '\n';
        } else {
            print_copy(*copy, *partner, name, path);
        }
        return static_cast<int>(exit_done);
    });
}

}  // namespace breakstep
