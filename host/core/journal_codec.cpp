// The journal's bytes. One visitor writes, one reads; both walk the events' fields().
#include <bit>
#include <concepts>
#include <cstring>
#include <limits>
#include <type_traits>

#include "core/events.hpp"

namespace breakstep {
namespace {

// The last enumerator of each enumeration: a byte above it is damage, not data.
template <class Enum>
constexpr auto last_of = std::numeric_limits<std::underlying_type_t<Enum>>::max();
template <>
constexpr std::uint8_t last_of<Phase> = static_cast<std::uint8_t>(Phase::hands);
template <>
constexpr std::uint8_t last_of<Moment> = static_cast<std::uint8_t>(Moment::drop);
template <>
constexpr std::uint8_t last_of<AttackKind> = static_cast<std::uint8_t>(AttackKind::feint);
template <>
constexpr std::uint8_t last_of<StartKind> = static_cast<std::uint8_t>(StartKind::tapped);
template <>
constexpr std::uint8_t last_of<Counter> = static_cast<std::uint8_t>(Counter::spin);
template <>
constexpr std::uint8_t last_of<Stance> = static_cast<std::uint8_t>(Stance::open);
template <>
constexpr std::uint8_t last_of<Side> = static_cast<std::uint8_t>(Side::right);
template <>
constexpr std::uint8_t last_of<VoidReason> = static_cast<std::uint8_t>(VoidReason::coach);
template <>
constexpr std::uint8_t last_of<PadRole> = static_cast<std::uint8_t>(PadRole::low_right);
template <>
constexpr std::uint8_t last_of<GateRole> = static_cast<std::uint8_t>(GateRole::hip);
template <>
constexpr std::uint8_t last_of<OnsetSource> = static_cast<std::uint8_t>(OnsetSource::tap);
template <>
constexpr std::uint8_t last_of<Sign> = static_cast<std::uint8_t>(Sign::tell);
template <>
constexpr std::uint8_t last_of<Level> = static_cast<std::uint8_t>(Level::advanced);
template <>
constexpr std::uint8_t last_of<LeadSides> = static_cast<std::uint8_t>(LeadSides::both);
template <>
constexpr std::uint8_t last_of<SessionEnd> = static_cast<std::uint8_t>(SessionEnd::stopped);
template <>
constexpr std::uint8_t last_of<CoachAct> = static_cast<std::uint8_t>(CoachAct::stop);
template <>
constexpr std::uint8_t last_of<ChannelKind> = static_cast<std::uint8_t>(ChannelKind::sync);

class Writer {
  public:
    explicit Writer(std::string& out) : out_(out) {}

    template <class... Fields>
    void operator()(const Fields&... fields) {
        (put(fields), ...);
    }

  private:
    template <std::integral T>
    void put(T value) {
        if constexpr (std::same_as<T, bool>) {
            out_.push_back(value ? '\1' : '\0');
        } else {
            char bytes[sizeof(T)];
            if constexpr (std::endian::native == std::endian::little) {
                std::memcpy(bytes, &value, sizeof(T));
            } else {
                auto rest = static_cast<std::make_unsigned_t<T>>(value);
                for (char& byte : bytes) {
                    byte = static_cast<char>(rest & 0xFFU);
                    rest = static_cast<std::make_unsigned_t<T>>(rest >> 8U);
                }
            }
            out_.append(bytes, sizeof(T));
        }
    }
    template <class T>
    requires std::is_enum_v<T>
    void put(T value) { put(static_cast<std::underlying_type_t<T>>(value)); }
    void put(double value) { put(std::bit_cast<std::uint64_t>(value)); }
    void put(Duration value) { put(static_cast<std::int64_t>(value.count())); }
    void put(TargetTime value) { (*this)(value.boot(), value.since_boot()); }
    void put(const std::string& value) {
        put(static_cast<std::uint32_t>(value.size()));
        out_.append(value);
    }
    template <class T>
    void put(const std::vector<T>& values) {
        put(static_cast<std::uint32_t>(values.size()));
        for (const T& value : values) put(value);
    }
    // fields() is written once, for reading and writing; writing changes nothing.
    template <class T>
    requires(std::is_class_v<T>) void put(const T& value) { const_cast<T&>(value).fields(*this); }

    std::string& out_;
};

class Reader {
  public:
    explicit Reader(std::string_view bytes) : bytes_(bytes) {}

    [[nodiscard]] bool good() const { return good_; }

    template <class... Fields>
    void operator()(Fields&... fields) {
        (get(fields), ...);
    }

  private:
    [[nodiscard]] bool take(std::size_t size) {
        good_ = good_ && bytes_.size() >= size;
        return good_;
    }
    template <std::integral T>
    void get(T& value) {
        if (!take(sizeof(T))) return;
        if constexpr (std::same_as<T, bool>) {
            good_ = bytes_[0] == '\0' || bytes_[0] == '\1';
            value = bytes_[0] == '\1';
        } else if constexpr (std::endian::native == std::endian::little) {
            std::memcpy(&value, bytes_.data(), sizeof(T));
        } else {
            std::make_unsigned_t<T> gathered = 0;
            for (std::size_t i = sizeof(T); i-- > 0;)
                gathered =
                    static_cast<std::make_unsigned_t<T>>((gathered << 8U) | static_cast<unsigned char>(bytes_[i]));
            value = static_cast<T>(gathered);
        }
        bytes_.remove_prefix(sizeof(T));
    }
    template <class T>
    requires std::is_enum_v<T>
    void get(T& value) {
        std::underlying_type_t<T> number{};
        get(number);
        if (number > last_of<T>) good_ = false;
        if (good_) value = static_cast<T>(number);
    }
    void get(double& value) {
        std::uint64_t bits = 0;
        get(bits);
        value = std::bit_cast<double>(bits);
    }
    void get(Duration& value) {
        std::int64_t count = 0;
        get(count);
        value = Duration(count);
    }
    void get(TargetTime& value) {
        BootId boot{};
        Duration since_boot{};
        (*this)(boot, since_boot);
        value = TargetTime(boot, since_boot);
    }
    void get(std::string& value) {
        std::uint32_t size = 0;
        get(size);
        if (!take(size)) return;
        value.assign(bytes_.substr(0, size));
        bytes_.remove_prefix(size);
    }
    template <class T>
    void get(std::vector<T>& values) {
        std::uint32_t size = 0;
        get(size);
        // Every element takes a byte at least, so a damaged size can't ask for more memory than there are bytes.
        if (!take(size)) return;
        values.clear();
        values.reserve(size);
        for (std::uint32_t i = 0; i < size && good_; ++i) get(values.emplace_back());
    }
    template <class T>
    requires(std::is_class_v<T>) void get(T& value) { value.fields(*this); }

    std::string_view bytes_;
    bool good_ = true;
};

template <class Event>
constexpr bool is_unknown = std::same_as<Event, UnknownEvent>;

template <std::size_t Index = 0>
Expected<JournalEvent> decode_alternative(std::uint16_t kind, std::string_view bytes) {
    if constexpr (Index == std::variant_size_v<JournalEvent>) {
        return UnknownEvent{kind, std::string(bytes)};
    } else {
        using Event = std::variant_alternative_t<Index, JournalEvent>;
        if constexpr (!is_unknown<Event>) {
            if (kind == Event::kind) {
                Event event;
                Reader reader(bytes);
                event.fields(reader);
                if (!reader.good())
                    return failure(ErrorKind::damaged,
                                   "a journal event of kind " + std::to_string(kind) + " is damaged",
                                   "restore the store from a backup");
                return JournalEvent(std::move(event));
            }
        }
        return decode_alternative<Index + 1>(kind, bytes);
    }
}

}  // namespace

std::uint16_t kind_of(const JournalEvent& event) {
    return std::visit(
        [](const auto& known) -> std::uint16_t {
            if constexpr (is_unknown<std::remove_cvref_t<decltype(known)>>)
                return known.real_kind;
            else
                return known.kind;
        },
        event);
}

std::string_view name_of(const JournalEvent& event) {
    // In the order of JournalEvent's alternatives.
    static constexpr std::string_view names[] = {
        "unknown",     "session_began", "session_ended", "calibration_used", "rig_connected", "rig_lost",
        "events_lost", "pad_hit",       "gate_edge",     "sync_edge",        "lamps_set",     "lamps_refused",
        "clock_bound", "set_planned",   "set_ended",     "rep_opened",       "phase_began",   "rep_closed",
        "rep_voided",  "start_struck",  "interval_coin", "coach_input",      "cue_onset",     "nudge_shown"};
    static_assert(std::size(names) == std::variant_size_v<JournalEvent>);
    return names[event.index()];
}

void encode(const JournalEvent& event, std::string& out) {
    std::visit(
        [&out](const auto& known) {
            using Event = std::remove_cvref_t<decltype(known)>;
            if constexpr (is_unknown<Event>) {
                out.append(known.bytes);
            } else {
                Writer writer(out);
                const_cast<Event&>(known).fields(writer);
            }
        },
        event);
}

Expected<JournalEvent> decode(std::uint16_t kind, std::string_view bytes) { return decode_alternative(kind, bytes); }

}  // namespace breakstep
