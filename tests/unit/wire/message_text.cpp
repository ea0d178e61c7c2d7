#include "message_text.hpp"

#include <algorithm>
#include <sstream>
#include <stdexcept>
#include <type_traits>

namespace breakstep::wire_test {

namespace {

struct Field {
    const char* name;
    int bits;
    std::uint64_t (*get)(const wire_message&);
    void (*set)(wire_message&, std::uint64_t);
};

struct Kind {
    const char* name;
    std::uint8_t type;
    std::vector<Field> fields;
};

#define BREAKSTEP_PLACE(label, bits, place)                                           \
    Field {                                                                           \
        label, bits, [](const wire_message& m) -> std::uint64_t { return m.place; },  \
            [](wire_message& m, std::uint64_t value) {                                \
                m.place = static_cast<std::remove_cvref_t<decltype(m.place)>>(value); \
            }                                                                         \
    }
#define BREAKSTEP_FIELD(member, field, bits) BREAKSTEP_PLACE(#field, bits, as.member.field)
#define BREAKSTEP_COUNTER(name, index) BREAKSTEP_PLACE(name, 16, as.counters.values[index])

Kind event(const char* name, std::uint8_t type, std::vector<Field> own) {
    std::vector<Field> fields = {BREAKSTEP_PLACE("sequence", 16, sequence), BREAKSTEP_PLACE("time", 48, time)};
    fields.insert(fields.end(), own.begin(), own.end());
    return {name, type, fields};
}

std::vector<Kind> kinds_from_rig() {
    return {
        {"hello",
         WIRE_HELLO,
         {BREAKSTEP_FIELD(hello, version_major, 8), BREAKSTEP_FIELD(hello, version_minor, 8),
          BREAKSTEP_FIELD(hello, board, 64), BREAKSTEP_FIELD(hello, boot, 32), BREAKSTEP_FIELD(hello, pads, 8),
          BREAKSTEP_FIELD(hello, gates, 8), BREAKSTEP_FIELD(hello, lamps, 8), BREAKSTEP_FIELD(hello, syncs, 8),
          BREAKSTEP_FIELD(hello, newest, 16), BREAKSTEP_FIELD(hello, oldest_kept, 16)}},
        {"channel",
         WIRE_CHANNEL,
         {BREAKSTEP_FIELD(channel, kind, 8), BREAKSTEP_FIELD(channel, index, 8), BREAKSTEP_FIELD(channel, role, 8),
          BREAKSTEP_FIELD(channel, flags, 8), BREAKSTEP_FIELD(channel, bound_ticks, 16)}},
        {"snapshot",
         WIRE_SNAPSHOT,
         {BREAKSTEP_FIELD(snapshot, time, 48), BREAKSTEP_FIELD(snapshot, gates_broken, 8),
          BREAKSTEP_FIELD(snapshot, lamps_lit, 8), BREAKSTEP_FIELD(snapshot, newest, 16)}},
        {"ping_reply",
         WIRE_PING_REPLY,
         {BREAKSTEP_FIELD(ping_reply, id, 16), BREAKSTEP_FIELD(ping_reply, boot, 32),
          BREAKSTEP_FIELD(ping_reply, received, 48), BREAKSTEP_FIELD(ping_reply, replied, 48),
          BREAKSTEP_FIELD(ping_reply, newest, 16)}},
        {"overwritten",
         WIRE_OVERWRITTEN,
         {BREAKSTEP_FIELD(overwritten, first, 16), BREAKSTEP_FIELD(overwritten, last, 16)}},
        {"pad_level",
         WIRE_PAD_LEVEL,
         {BREAKSTEP_FIELD(pad_level, time, 48), BREAKSTEP_FIELD(pad_level, pad, 8),
          BREAKSTEP_FIELD(pad_level, level, 16), BREAKSTEP_FIELD(pad_level, noise, 16)}},
        {"counters",
         WIRE_COUNTERS,
         {BREAKSTEP_COUNTER("frames_rejected", WIRE_COUNT_FRAMES_REJECTED),
          BREAKSTEP_COUNTER("receive_overrun", WIRE_COUNT_RECEIVE_OVERRUN),
          BREAKSTEP_COUNTER("resent", WIRE_COUNT_RESENT), BREAKSTEP_COUNTER("overwritten", WIRE_COUNT_OVERWRITTEN),
          BREAKSTEP_COUNTER("watchdog", WIRE_COUNT_WATCHDOG),
          BREAKSTEP_COUNTER("gate_bounces", WIRE_COUNT_GATE_BOUNCES),
          BREAKSTEP_COUNTER("send_blocked", WIRE_COUNT_SEND_BLOCKED)}},
        {"setting_value",
         WIRE_SETTING_VALUE,
         {BREAKSTEP_FIELD(setting, key, 8), BREAKSTEP_FIELD(setting, index, 8), BREAKSTEP_FIELD(setting, status, 8),
          BREAKSTEP_FIELD(setting, value, 16)}},
        {"lamp_accepted",
         WIRE_LAMP_ACCEPTED,
         {BREAKSTEP_FIELD(lamp_accepted, boot, 32), BREAKSTEP_FIELD(lamp_accepted, order, 16)}},
    };
}

std::vector<Kind> kinds_of_events() {
    return {
        event("pad_hit", WIRE_PAD_HIT,
              {BREAKSTEP_FIELD(pad_hit, pad, 8), BREAKSTEP_FIELD(pad_hit, peak, 16),
               BREAKSTEP_FIELD(pad_hit, echoes, 8)}),
        event("gate_broken", WIRE_GATE_BROKEN, {BREAKSTEP_FIELD(gate, gate, 8)}),
        event("gate_restored", WIRE_GATE_RESTORED, {BREAKSTEP_FIELD(gate, gate, 8)}),
        event("sync_edge", WIRE_SYNC_EDGE, {BREAKSTEP_FIELD(sync, rising, 8)}),
        event("lamps_set", WIRE_LAMPS_SET, {BREAKSTEP_FIELD(lamp, order, 16), BREAKSTEP_FIELD(lamp, lit, 8)}),
        event("lamp_refused", WIRE_LAMP_REFUSED, {BREAKSTEP_FIELD(lamp, order, 16), BREAKSTEP_FIELD(lamp, reason, 8)}),
        event("lamp_cancelled", WIRE_LAMP_CANCELLED, {BREAKSTEP_FIELD(lamp, order, 16)}),
    };
}

std::vector<Kind> kinds_from_host() {
    return {
        {"hello_request", WIRE_HELLO_REQUEST, {}},
        {"ping", WIRE_PING, {BREAKSTEP_FIELD(ping, id, 16)}},
        {"acknowledge",
         WIRE_ACKNOWLEDGE,
         {BREAKSTEP_FIELD(acknowledge, boot, 32), BREAKSTEP_FIELD(acknowledge, through, 16)}},
        {"resend",
         WIRE_RESEND,
         {BREAKSTEP_FIELD(resend, boot, 32), BREAKSTEP_FIELD(resend, first, 16), BREAKSTEP_FIELD(resend, count, 8)}},
        {"lamp_order",
         WIRE_LAMP_ORDER,
         {BREAKSTEP_FIELD(lamp_order, boot, 32), BREAKSTEP_FIELD(lamp_order, order, 16),
          BREAKSTEP_FIELD(lamp_order, at, 48), BREAKSTEP_FIELD(lamp_order, affected, 8),
          BREAKSTEP_FIELD(lamp_order, lit, 8)}},
        {"lamp_cancel",
         WIRE_LAMP_CANCEL,
         {BREAKSTEP_FIELD(lamp_cancel, boot, 32), BREAKSTEP_FIELD(lamp_cancel, order, 16)}},
        {"setting_set",
         WIRE_SETTING_SET,
         {BREAKSTEP_FIELD(setting, key, 8), BREAKSTEP_FIELD(setting, index, 8), BREAKSTEP_FIELD(setting, value, 16)}},
        {"setting_get", WIRE_SETTING_GET, {BREAKSTEP_FIELD(setting, key, 8), BREAKSTEP_FIELD(setting, index, 8)}},
        {"counters_request", WIRE_COUNTERS_REQUEST, {}},
        {"levels", WIRE_LEVELS, {BREAKSTEP_FIELD(levels, on, 8)}},
    };
}

const std::vector<Kind>& kinds() {
    static const std::vector<Kind> all = [] {
        std::vector<Kind> joined = kinds_from_rig();
        for (const auto& more : {kinds_of_events(), kinds_from_host()})
            joined.insert(joined.end(), more.begin(), more.end());
        return joined;
    }();
    return all;
}

const Kind& kind_of(std::uint8_t type) {
    for (const Kind& kind : kinds())
        if (kind.type == type) return kind;
    throw std::invalid_argument("no message has the type " + std::to_string(type));
}

std::uint64_t number_from(const std::string& text) {
    std::size_t used = 0;
    const std::uint64_t value = std::stoull(text, &used, 0);
    if (used != text.size()) throw std::invalid_argument("not a number: " + text);
    return value;
}

/// One in four is 0, one in four the largest, the rest anywhere, small numbers as often as large ones.
std::uint64_t random_number(Random& random, int bits) {
    const std::uint64_t largest = ~std::uint64_t{0} >> (64 - bits);
    const std::uint32_t choice = random.below(8);
    if (choice < 2) return 0;
    if (choice < 4) return largest;
    const std::uint64_t any = (static_cast<std::uint64_t>(random.next()) << 32) | random.next();
    return (any & largest) >> random.below(static_cast<std::uint32_t>(bits));
}

}  // namespace

std::vector<std::uint8_t> all_types() {
    std::vector<std::uint8_t> types;
    for (const Kind& kind : kinds()) types.push_back(kind.type);
    return types;
}

wire_message message_from_text(const std::string& text) {
    std::istringstream words(text);
    std::string word;
    words >> word;
    const auto kind = std::find_if(kinds().begin(), kinds().end(), [&](const Kind& k) { return word == k.name; });
    if (kind == kinds().end()) throw std::invalid_argument("no such message: " + text);
    wire_message message{};
    message.type = kind->type;
    for (const Field& field : kind->fields) {
        const std::string label = std::string(field.name) + "=";
        if (!(words >> word) || !word.starts_with(label)) throw std::invalid_argument(label + " is missing: " + text);
        field.set(message, number_from(word.substr(label.size())));
    }
    if (words >> word) throw std::invalid_argument("too many fields: " + text);
    return message;
}

std::string text_from(const wire_message& message) {
    const Kind& kind = kind_of(message.type);
    std::string text = kind.name;
    for (const Field& field : kind.fields)
        text += std::string(" ") + field.name + "=" + std::to_string(field.get(message));
    return text;
}

Bytes bytes_from_hex(const std::string& hex) {
    Bytes bytes;
    std::istringstream words(hex);
    for (std::string word; words >> word;) {
        if (word.size() != 2) throw std::invalid_argument("not a byte: " + word);
        bytes.push_back(static_cast<std::uint8_t>(number_from("0x" + word)));
    }
    return bytes;
}

std::string hex_from(const Bytes& bytes) {
    static constexpr char digits[] = "0123456789abcdef";
    std::string hex;
    for (const std::uint8_t byte : bytes) {
        if (!hex.empty()) hex += ' ';
        hex += digits[byte >> 4];
        hex += digits[byte & 15];
    }
    return hex;
}

wire_message random_message(Random& random, std::uint8_t type) {
    wire_message message{};
    message.type = type;
    for (const Field& field : kind_of(type).fields) field.set(message, random_number(random, field.bits));
    return message;
}

wire_message random_message(Random& random) {
    const auto index = random.below(static_cast<std::uint32_t>(kinds().size()));
    return random_message(random, kinds()[index].type);
}

Bytes frame_of(const wire_message& message) {
    Bytes frame(WIRE_FRAME_MAX);
    frame.resize(wire_encode_frame(&message, frame.data()));
    return frame;
}

Bytes frame_of_payload(const Bytes& payload) {
    Bytes plain = payload;
    const std::uint32_t crc = wire_crc32(payload.data(), payload.size());
    for (unsigned i = 0; i < WIRE_CRC_SIZE; ++i) plain.push_back(static_cast<std::uint8_t>(crc >> (8 * i)));
    Bytes frame(plain.size() + plain.size() / 254 + 1);
    frame.resize(wire_cobs_encode(plain.data(), plain.size(), frame.data()));
    frame.push_back(0);
    return frame;
}

Heard heard_in(const Bytes& bytes) {
    Heard heard;
    wire_receiver receiver{};
    wire_message message{};
    for (const std::uint8_t byte : bytes) {
        switch (wire_receive(&receiver, byte, &message)) {
            case WIRE_RECEIVED_NOTHING:
                break;
            case WIRE_RECEIVED_MESSAGE:
                heard.messages.push_back(message);
                break;
            case WIRE_RECEIVED_DAMAGED:
                ++heard.damaged;
                break;
            case WIRE_RECEIVED_UNKNOWN:
                ++heard.unknown;
                break;
        }
    }
    return heard;
}

bool same(const wire_message& a, const wire_message& b) {
    if (a.type != b.type) return false;
    for (const Field& field : kind_of(a.type).fields)
        if (field.get(a) != field.get(b)) return false;
    return true;
}

}  // namespace breakstep::wire_test
