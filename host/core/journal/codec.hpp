// Values as bytes and back, by their fields(): little-endian integers, lengths before strings and lists, doubles as
// their bits. The same value gives the same bytes on every machine. Include it in .cpp files only.
//
// Values grow: fields() names the members that the value began with by archive(a, b), and those of each later version
// by one archive.added(c, d), oldest first. Every value that has fields() is framed: its length stands before it. So a
// reader of today gives what older bytes lack its default, and skips what newer bytes have more; a frame that ends
// anywhere else is damage. The first layout of the journal was flat, without frames and without anything added: it is
// only read.
//
// ByteWriter appends to a string that it does not own. ByteReader reads a view; after too few bytes, a frame that does
// not fit or a value outside its enumeration good() is false and the values read are not to be used. Pure; any thread.
#pragma once

#include <bit>
#include <concepts>
#include <cstring>
#include <limits>
#include <string>
#include <string_view>
#include <type_traits>
#include <vector>

#include "core/journal/events.hpp"

namespace breakstep {

// The last enumerator of each enumeration: a byte above it is damage, not data.
template <class Enum>
inline constexpr auto last_of = std::numeric_limits<std::underlying_type_t<Enum>>::max();
template <>
inline constexpr std::uint8_t last_of<Phase> = static_cast<std::uint8_t>(Phase::up_or_pull_back);
template <>
inline constexpr std::uint8_t last_of<Moment> = static_cast<std::uint8_t>(Moment::drop);
template <>
inline constexpr std::uint8_t last_of<AttackKind> = static_cast<std::uint8_t>(AttackKind::feint);
template <>
inline constexpr std::uint8_t last_of<StartKind> = static_cast<std::uint8_t>(StartKind::retreated_from);
template <>
inline constexpr std::uint8_t last_of<DrewBy> = static_cast<std::uint8_t>(DrewBy::hand_hidden);
template <>
inline constexpr std::uint8_t last_of<RungAim> = static_cast<std::uint8_t>(RungAim::edge);
template <>
inline constexpr std::uint8_t last_of<Counter> = static_cast<std::uint8_t>(Counter::spin);
template <>
inline constexpr std::uint8_t last_of<Stance> = static_cast<std::uint8_t>(Stance::open);
template <>
inline constexpr std::uint8_t last_of<Side> = static_cast<std::uint8_t>(Side::right);
template <>
inline constexpr std::uint8_t last_of<VoidReason> = static_cast<std::uint8_t>(VoidReason::other_athlete);
template <>
inline constexpr std::uint8_t last_of<RedrawReason> = static_cast<std::uint8_t>(RedrawReason::no_kick);
template <>
inline constexpr std::uint8_t last_of<SkipReason> = static_cast<std::uint8_t>(SkipReason::out_of_range);
template <>
inline constexpr std::uint8_t last_of<ParticipantRole> = static_cast<std::uint8_t>(ParticipantRole::partner);
template <>
inline constexpr std::uint8_t last_of<PadRole> = static_cast<std::uint8_t>(PadRole::low_right);
template <>
inline constexpr std::uint8_t last_of<GateRole> = static_cast<std::uint8_t>(GateRole::partner_back_mark);
template <>
inline constexpr std::uint8_t last_of<OnsetSource> = static_cast<std::uint8_t>(OnsetSource::tap);
template <>
inline constexpr std::uint8_t last_of<Sign> = static_cast<std::uint8_t>(Sign::tell);
template <>
inline constexpr std::uint8_t last_of<Level> = static_cast<std::uint8_t>(Level::advanced);
template <>
inline constexpr std::uint8_t last_of<LeadSides> = static_cast<std::uint8_t>(LeadSides::both);
template <>
inline constexpr std::uint8_t last_of<SessionEnd> = static_cast<std::uint8_t>(SessionEnd::no_edge_gates);
template <>
inline constexpr std::uint8_t last_of<CoachAct> = static_cast<std::uint8_t>(CoachAct::tap_hands);
template <>
inline constexpr std::uint8_t last_of<Feedback> = static_cast<std::uint8_t>(Feedback::silent_first);
template <>
inline constexpr std::uint8_t last_of<CameKind> = static_cast<std::uint8_t>(CameKind::impossible);
template <>
inline constexpr std::uint8_t last_of<Impossible> = static_cast<std::uint8_t>(Impossible::flickering);
template <>
inline constexpr std::uint8_t last_of<AttackSource> = static_cast<std::uint8_t>(AttackSource::partner);
template <>
inline constexpr std::uint8_t last_of<ChannelKind> = static_cast<std::uint8_t>(ChannelKind::sync);

/// How values with fields() stand in the bytes.
enum class Layout : std::uint8_t { flat, framed };

class ByteWriter {
  public:
    explicit ByteWriter(std::string& out) : out_(out) {}

    template <class... Fields>
    void operator()(const Fields&... fields) {
        (put(fields), ...);
    }
    template <class... Fields>
    void added(const Fields&... fields) {
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
    void put(HostTime value) { put(value.time_since_epoch()); }
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
    requires(std::is_class_v<T>) void put(const T& value) {
        const std::size_t length_at = out_.size();
        put(std::uint32_t{0});
        const_cast<T&>(value).fields(*this);
        std::string length;
        ByteWriter{length}(static_cast<std::uint32_t>(out_.size() - length_at - sizeof(std::uint32_t)));
        out_.replace(length_at, length.size(), length);
    }

    std::string& out_;
};

class ByteReader {
  public:
    explicit ByteReader(std::string_view bytes, Layout layout = Layout::framed) : bytes_(bytes), layout_(layout) {}

    [[nodiscard]] bool good() const { return good_; }
    /// Whether nothing is left over.
    [[nodiscard]] bool at_end() const { return bytes_.empty(); }

    template <class... Fields>
    void operator()(Fields&... fields) {
        (get(fields), ...);
    }
    /// Members of a later version: all there, or none of them.
    template <class... Fields>
    void added(Fields&... fields) {
        if (layout_ == Layout::framed && !bytes_.empty()) (get(fields), ...);
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
    void get(HostTime& value) {
        Duration since_epoch{};
        get(since_epoch);
        value = HostTime(since_epoch);
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
    requires(std::is_class_v<T>) void get(T& value) {
        if (layout_ == Layout::flat) {
            value.fields(*this);
            return;
        }
        std::uint32_t size = 0;
        get(size);
        if (!take(size)) return;
        ByteReader frame(bytes_.substr(0, size));
        value.fields(frame);
        good_ = frame.good();
        bytes_.remove_prefix(size);
    }

    std::string_view bytes_;
    Layout layout_;
    bool good_ = true;
};

}  // namespace breakstep
