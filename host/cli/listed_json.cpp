#include "cli/listed_json.hpp"

#include <fmt/format.h>

#include <nlohmann/json.hpp>

namespace breakstep {
namespace {

using Json = nlohmann::ordered_json;

double us(Duration duration) { return static_cast<double>(duration.count()) / 1e3; }
double ms(Duration duration) { return static_cast<double>(duration.count()) / 1e6; }

Json attack_json(const AttackChoice& attack) {
    Json json;
    json["kind"] = word(attack.kind);
    json["share"] = attack.share;
    json["moment"] = attack.kind == AttackKind::feint ? Json(nullptr) : Json(word(attack.moment));
    if (attack.moments != 0) {
        Json moments = Json::array();
        for (const Moment moment : {Moment::lift, Moment::drop, Moment::gap})
            if (attack.asks(moment)) moments.push_back(word(moment));
        json["moments"] = moments;
    }
    json["counter"] = attack.kind == AttackKind::feint ? Json(nullptr) : Json(word(attack.counter));
    return json;
}

std::string channel_role(const Channel& channel) {
    switch (channel.kind) {
        case ChannelKind::pad:
            return std::string(word(static_cast<PadRole>(channel.role)));
        case ChannelKind::gate:
            return std::string(word(static_cast<GateRole>(channel.role)));
        case ChannelKind::lamp:
            return std::string(word(static_cast<LampRole>(channel.role)));
        case ChannelKind::sync:
            return "sync";
    }
    return "unknown";
}

constexpr const char* kind_words[] = {"", "pad", "gate", "lamp", "sync"};

}  // namespace

std::string drills_json(const std::vector<Drill>& drills) {
    Json list = Json::array();
    for (const Drill& drill : drills) {
        Json json;
        json["name"] = drill.name;
        json["title"] = drill.title;
        json["level"] = word(drill.level);
        json["test"] = drill.test;
        json["start"] = word(drill.start);
        json["stance"] = word(drill.stance);
        json["sets"] = drill.sets;
        json["reps"] = drill.reps;
        Json attacks = Json::array();
        for (const AttackChoice& attack : drill.attacks) attacks.push_back(attack_json(attack));
        json["attacks"] = attacks;
        list.push_back(json);
    }
    Json whole;
    whole["drills"] = list;
    return whole.dump() + "\n";
}

std::string ports_json(const std::vector<PortInfo>& ports) {
    Json list = Json::array();
    for (const PortInfo& port : ports) {
        Json json;
        json["port"] = port.path;
        json["description"] = port.description;
        json["serial"] = port.serial;
        json["usb_vendor"] = port.usb_vendor < 0 ? Json(nullptr) : Json(port.usb_vendor);
        json["usb_product"] = port.usb_product < 0 ? Json(nullptr) : Json(port.usb_product);
        list.push_back(json);
    }
    Json whole;
    whole["ports"] = list;
    return whole.dump() + "\n";
}

std::string rig_check_json(const RigCheck& check) {
    Json json;
    json["port"] = check.port;
    json["board"] = fmt::format("{:016x}", static_cast<std::uint64_t>(check.rig.board));
    json["boot"] = static_cast<std::uint32_t>(check.rig.boot);
    json["ready_ms"] = ms(check.ready_after);
    json["bound_us"] = check.bound == unknown_uncertainty ? Json(nullptr) : Json(us(check.bound));
    Json channels = Json::array();
    for (const Channel& channel : check.rig.channels) {
        Json one;
        one["kind"] = kind_words[static_cast<std::size_t>(channel.kind)];
        one["index"] = channel.index;
        one["role"] = channel_role(channel);
        one["optional"] = channel.optional;
        one["bound_us"] = us(channel.bound);
        if (channel.kind == ChannelKind::gate) one["blocked"] = (check.rig.gates_broken >> channel.index & 1U) != 0;
        channels.push_back(one);
    }
    json["channels"] = channels;
    json["link"] = {{"frames", check.link.frames},   {"damaged", check.link.damaged},
                    {"bytes", check.link.bytes},     {"damaged_bytes", check.link.damaged_bytes},
                    {"unknown", check.link.unknown}, {"asked_again", check.link.asked_again},
                    {"lost", check.link.lost},       {"doubled", check.link.doubled}};
    json["rig_counters"] = check.counters ? Json(check.counters->values) : Json(nullptr);
    return json.dump() + "\n";
}

std::string rig_event_json(const LinkEvent& event) {
    Json json;
    if (const auto* hit = std::get_if<PadHit>(&event)) {
        json["event"] = "pad_hit";
        json["at_us"] = us(hit->at.since_boot());
        json["pad"] = word(hit->pad);
        json["peak"] = hit->peak;
    } else if (const auto* gate = std::get_if<GateEdge>(&event)) {
        json["event"] = gate->broken ? "gate_broken" : "gate_restored";
        json["at_us"] = us(gate->at.since_boot());
        json["gate"] = word(gate->gate);
    } else if (const auto* lamps = std::get_if<LampsSet>(&event)) {
        json["event"] = "lamps_set";
        json["at_us"] = us(lamps->at.since_boot());
        json["lit"] = lamps->lit;
    } else if (std::holds_alternative<RigConnected>(event)) {
        json["event"] = "rig_connected";
    } else if (const auto* lost = std::get_if<RigLost>(&event)) {
        json["event"] = "rig_lost";
        json["reason"] = word(lost->reason);
    } else {
        return "";
    }
    return json.dump();
}

}  // namespace breakstep
