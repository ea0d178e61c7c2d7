// Kept apart: one of the few files that include the JSON library.
#include "club/athletes/athletes_json.hpp"

#include <nlohmann/json.hpp>

#include "club/athletes/naming.hpp"
#include "store/consent.hpp"

namespace breakstep {
namespace {

using Json = nlohmann::ordered_json;

// A store may hold bytes that are no UTF-8 from elsewhere: shown as such, never a crash.
std::string line_of(const Json& json) { return json.dump(-1, ' ', false, Json::error_handler_t::replace) + "\n"; }

Json text_or_null(const std::string& text) { return text.empty() ? Json(nullptr) : Json(text); }

Json athlete_json(const Athlete& athlete, const std::string& today, Names names) {
    Json json;
    json["id"] = id_text(athlete.id);
    json["call_sign"] = text_or_null(athlete.call_sign);
    if (names == Names::real) json["real_name"] = text_or_null(athlete.real_name);
    json["grade"] = text_or_null(athlete.grade);
    json["lead"] = word(athlete.lead);
    json["placed_rung"] = athlete.placed_rung ? Json(*athlete.placed_rung) : Json(nullptr);
    json["placed_on"] = text_or_null(athlete.placed_on);
    json["height_band"] = text_or_null(athlete.height_band);
    json["birth_year"] = athlete.birth_year ? Json(*athlete.birth_year) : Json(nullptr);
    json["group"] = text_or_null(athlete.group);
    if (names == Names::real) json["notes"] = text_or_null(athlete.notes);
    json["consent"] = word(consent_state(athlete, today));
    json["results_kept"] = may_keep(athlete, today);
    const Consent consent = athlete.consent.value_or(Consent{});
    json["consent_on"] = text_or_null(consent.on);
    json["consent_by"] = text_or_null(consent.by);
    json["consent_until"] = text_or_null(consent.until);
    json["consent_refused_on"] = text_or_null(athlete.consent_refused_on);
    json["consent_share_on"] = text_or_null(athlete.consent_share_on);
    json["results_shared"] = may_share(athlete, today);
    return json;
}

}  // namespace

std::string athletes_json(const std::vector<Athlete>& athletes, const std::string& today, Names names) {
    Json list = Json::array();
    for (const Athlete& athlete : athletes) list.push_back(athlete_json(athlete, today, names));
    Json whole;
    whole["athletes"] = std::move(list);
    return line_of(whole);
}

std::string import_json(const Imported& imported) {
    Json json;
    json["values"] = imported.values;
    json["measures"] = imported.measures;
    json["athletes_added"] = imported.athletes_added;
    return line_of(json);
}

std::string erase_json(const Erasing& erasing) {
    Json json;
    json["erased"] = shown(erasing.athlete);
    json["sessions"] = erasing.sessions;
    json["reps"] = erasing.reps;
    json["measures"] = erasing.measures;
    const auto list = [](const std::vector<std::filesystem::path>& paths) {
        Json names = Json::array();
        for (const auto& path : paths) names.push_back(path.string());
        return names;
    };
    json["also_erased_from"] = list(erasing.also_erased_from);
    json["files_deleted"] = list(erasing.files.alone);
    json["files_with_others"] = list(erasing.files.perhaps);
    json["folders_not_found"] = list(erasing.files.unseen);
    Json holding = Json::array();
    for (const CopyHolding& copy : erasing.copies.holding)
        holding.push_back({{"file", copy.path.string()}, {"sessions", copy.sessions}});
    json["still_held_by"] = std::move(holding);
    Json unseen = Json::array();
    for (const auto& path : erasing.copies.unseen) unseen.push_back(path.string());
    json["backups_not_found"] = std::move(unseen);
    return line_of(json);
}

std::string restore_json(const Restored& report) {
    Json json;
    json["athletes"] = report.athletes;
    json["sessions"] = report.sessions;
    json["measures"] = report.measures;
    json["replaced_store_kept_as"] = text_or_null(report.replaced.string());
    return line_of(json);
}

std::string check_json(const Verified& verified) {
    Json json;
    json["whole"] = true;
    json["sessions"] = verified.sessions;
    json["sessions_without_checksum"] = verified.sessions_without_sum;
    return line_of(json);
}

std::string rescue_json(const Rescued& report) {
    Json json;
    json["whole"] = report.whole();
    json["athletes"] = report.athletes;
    json["sessions"] = report.sessions;
    json["reps"] = report.reps;
    json["records"] = report.records;
    json["measures"] = report.measures;
    json["athletes_without_row"] = report.athletes_without_row;
    json["sessions_rebuilt"] = report.sessions_rebuilt;
    json["journals_cut"] = report.journals_cut;
    json["sessions_changed"] = report.sessions_changed;
    json["results_changed"] = report.results_changed;
    json["tables_changed"] = report.tables_changed;
    json["reps_missing"] = report.reps_missing;
    json["numbers_missing"] = report.numbers_missing;
    json["rows_dropped"] = report.rows_dropped;
    json["rows_unreadable"] = report.rows_unreadable;
    return line_of(json);
}

}  // namespace breakstep
