#include "cli/trust/findings_json.hpp"

#include <nlohmann/json.hpp>

namespace breakstep {

namespace {

using Json = nlohmann::ordered_json;

nlohmann::ordered_json delay_json(const std::optional<DelayFinding>& device) {
    if (!device) return nullptr;
    const bool known = device->spread != unknown_uncertainty;
    const auto ms = [](Duration d) { return static_cast<double>(d.count()) / 1e6; };
    return {{"made", device->made},
            {"noticed", device->noticed},
            {"delay_ms", known ? Json(ms(device->delay)) : Json(nullptr)},
            {"spread_ms", known ? Json(ms(device->spread)) : Json(nullptr)}};
}

}  // namespace

std::string findings_json(const CalibrationFindings& findings) {
    Json whole;
    whole["pads"] = Json::array();
    for (const PadFinding& pad : findings.pads) {
        Json one;
        one["pad"] = word(pad.pad);
        one["dead"] = pad.dead;
        one["skipped"] = pad.skipped;
        one["noise"] = pad.noise;
        one["strikes"] = pad.strikes;
        one["threshold"] = pad.strikes.empty() ? Json(nullptr) : Json(pad.threshold);
        Json crosstalk;
        for (std::size_t i = 0; i < pad.crosstalk.size(); ++i)
            if (static_cast<PadRole>(i) != pad.pad)
                crosstalk[std::string(word(static_cast<PadRole>(i)))] = pad.crosstalk[i];
        one["crosstalk"] = crosstalk;
        whole["pads"].push_back(one);
    }
    static constexpr const char* verdicts[] = {"good", "flickers", "dead", "absent", "skipped"};
    whole["gates"] = Json::array();
    for (const GateFinding& gate : findings.gates)
        whole["gates"].push_back({{"gate", word(gate.gate)},
                                  {"verdict", verdicts[static_cast<std::size_t>(gate.verdict)]},
                                  {"breaks", gate.breaks},
                                  {"restores", gate.restores}});
    whole["sound"] = delay_json(findings.sound);
    whole["screen"] = delay_json(findings.screen);
    return whole.dump() + "\n";
}

}  // namespace breakstep
