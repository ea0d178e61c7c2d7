// The evening's bytes: the journal's own writer and reader, over the evening's kinds.
#include "core/evening/evening_events.hpp"
#include "core/journal/codec.hpp"

namespace breakstep {

template <>
inline constexpr std::uint8_t last_of<evening::BlockKind> = static_cast<std::uint8_t>(evening::BlockKind::rounds);
template <>
inline constexpr std::uint8_t last_of<evening::Who> = static_cast<std::uint8_t>(evening::Who::adults);
template <>
inline constexpr std::uint8_t last_of<evening::Ask> = static_cast<std::uint8_t>(evening::Ask::minutes);
template <>
inline constexpr std::uint8_t last_of<evening::Hand> = static_cast<std::uint8_t>(evening::Hand::program);
template <>
inline constexpr std::uint8_t last_of<evening::AnswerKind> = static_cast<std::uint8_t>(evening::AnswerKind::too_late);
template <>
inline constexpr std::uint8_t last_of<evening::Why> = static_cast<std::uint8_t>(evening::Why::no_such_block);

namespace evening {
namespace {

template <class Event>
constexpr bool is_unknown = std::same_as<Event, UnknownKind>;

template <std::size_t Index = 0>
Expected<EveningEvent> decode_alternative(std::uint16_t kind, std::string_view bytes) {
    if constexpr (Index == std::variant_size_v<EveningEvent>) {
        return UnknownKind{kind, std::string(bytes)};
    } else {
        using Event = std::variant_alternative_t<Index, EveningEvent>;
        if constexpr (!is_unknown<Event>) {
            if (kind == Event::kind) {
                Event event;
                ByteReader reader(bytes);
                reader(event);
                if (reader.good() && reader.at_end()) return EveningEvent(std::move(event));
                return failure(ErrorKind::damaged,
                               "an event of an evening, of kind " + std::to_string(kind) + ", is damaged",
                               "begin the evening anew; its sessions stand by themselves");
            }
        }
        return decode_alternative<Index + 1>(kind, bytes);
    }
}

}  // namespace

std::uint16_t kind_of(const EveningEvent& event) {
    return std::visit(
        [](const auto& known) -> std::uint16_t {
            if constexpr (is_unknown<std::remove_cvref_t<decltype(known)>>)
                return known.real_kind;
            else
                return known.kind;
        },
        event);
}

std::string_view name_of(const EveningEvent& event) {
    static constexpr std::string_view names[] = {
        "unknown",     "evening_began", "athlete_came", "athlete_left", "dose_given",    "block_began",
        "turn_called", "set_began",     "set_done",     "stood_aside",  "session_over",  "set_moved",
        "asked",       "kept_outside",  "rig_seen",     "went_on",      "evening_ended", "count_cancelled"};
    static_assert(std::size(names) == std::variant_size_v<EveningEvent>);
    return names[event.index()];
}

void encode(const EveningEvent& event, std::string& out) {
    std::visit(
        [&out](const auto& known) {
            if constexpr (is_unknown<std::remove_cvref_t<decltype(known)>>) {
                out.append(known.bytes);
            } else {
                ByteWriter writer(out);
                writer(known);
            }
        },
        event);
}

Expected<EveningEvent> decode(std::uint16_t kind, std::string_view bytes) { return decode_alternative(kind, bytes); }

AthleteId athlete_of(const EveningEvent& event) {
    return std::visit(
        [](const auto& known) {
            if constexpr (requires { known.athlete; })
                return known.athlete;
            else if constexpr (requires { known.request.athlete; })
                return known.request.athlete;
            else if constexpr (requires { known.to; })
                return known.to;
            else
                return AthleteId{};
        },
        event);
}

}  // namespace evening
}  // namespace breakstep
