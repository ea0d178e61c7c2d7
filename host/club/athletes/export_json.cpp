// Kept apart: one of the few files that include the JSON library.
#include <nlohmann/json.hpp>

#include "club/athletes/export_tables.hpp"

namespace breakstep {
namespace {

using Json = nlohmann::ordered_json;

Json json_of(const ExportCell& cell) {
    return std::visit(
        [](const auto& value) {
            if constexpr (std::is_same_v<decltype(value), const std::monostate&>)
                return Json(nullptr);
            else
                return Json(value);
        },
        cell);
}

}  // namespace

std::string json_object(std::span<const std::string_view> names, std::span<const ExportCell> cells) {
    Json json = Json::object();
    for (std::size_t i = 0; i < names.size(); ++i) json[std::string(names[i])] = json_of(cells[i]);
    return json.dump(-1, ' ', false, Json::error_handler_t::replace);
}

}  // namespace breakstep
