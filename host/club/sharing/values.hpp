// How values stand in the server's tables: the same columns as the store's, by the same visitor lists, as PostgreSQL's
// text. A rep's or a total's column that a later version adds is added to the server's table by club-server; where it
// is NULL, a value stays what it is by default. Pure; any thread; reading throws UnreadableValue.
#pragma once

#include <charconv>
#include <concepts>
#include <cstdlib>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "club/sharing/connection.hpp"
#include "store/columns.hpp"
#include "store/values.hpp"

namespace breakstep::sharing {

/// "a, b, c", and the type of each in the server's tables.
struct ServerColumns {
    std::vector<std::pair<std::string, std::string>> columns;

    template <class T>
    void operator()(std::string_view name, const T& value) {
        columns.emplace_back(name, type_of(value));
    }
    [[nodiscard]] std::string list(const std::string& before = "") const {
        std::string text;
        for (const auto& [name, type] : columns) text += (text.empty() ? "" : ", ") + before + name;
        return text;
    }

  private:
    template <class T>
    static std::string type_of(const T&) {
        if constexpr (std::is_floating_point_v<T>)
            return "double precision";
        else if constexpr (std::is_same_v<T, std::string>)
            return "text";
        else if constexpr (std::is_enum_v<T>)
            return columns::has_word<T> ? "text" : "bigint";
        else
            return "bigint";
    }
    template <class T>
    static std::string type_of(const std::optional<T>&) {
        return type_of(T{});
    }
    template <class T>
    static std::string type_of(const columns::KnownOrNull<T>&) {
        return "bigint";
    }
    template <class T>
    static std::string type_of(const columns::TextOrNull<T>&) {
        return "text";
    }
    template <class T>
    static std::string type_of(const std::vector<T>&) {
        return "text";
    }
};

[[nodiscard]] inline Value text_of(const std::string& value) { return value; }
[[nodiscard]] inline Value text_of(double value) {
    char text[40];
    const auto end = std::to_chars(text, text + sizeof text, value);
    return std::string(text, end.ptr);
}
template <std::integral T>
[[nodiscard]] Value text_of(T value) {
    return std::to_string(static_cast<std::int64_t>(value));
}
[[nodiscard]] inline Value text_of(Duration value) { return std::to_string(value.count()); }
template <class T>
requires std::is_enum_v<T>
[[nodiscard]] Value text_of(T value) {
    if constexpr (columns::has_word<T>)
        return std::string(word(value));
    else
        return text_of(static_cast<std::underlying_type_t<T>>(value));
}
template <class T>
[[nodiscard]] Value text_of(const std::optional<T>& value) {
    return value ? text_of(*value) : Value{};
}
template <class T>
[[nodiscard]] Value text_of(columns::KnownOrNull<T> known) {
    return known.value == unknown_uncertainty ? Value{} : text_of(known.value);
}
template <class T>
[[nodiscard]] Value text_of(columns::TextOrNull<T> text) {
    return text.value.empty() ? Value{} : text_of(text.value);
}
template <class T>
[[nodiscard]] Value text_of(const std::vector<T>& values) {
    return columns::text_of(values);
}

/// One line for COPY.
class CopyLine {
  public:
    explicit CopyLine(std::string& to) : to_(to) {}
    template <class T>
    void operator()(std::string_view, const T& value) {
        put(text_of(value));
    }
    template <class T>
    CopyLine& add(const T& value) {
        put(text_of(value));
        return *this;
    }
    CopyLine& add_bytes(std::string_view bytes);
    void put(const Value& value);
    void end() {
        to_ += '\n';
        first_ = true;
    }

  private:
    void separate();
    std::string& to_;
    bool first_ = true;
};

/// Values of a statement, one after the other.
struct ValueList {
    std::vector<Value> values;
    template <class T>
    void operator()(std::string_view, const T& value) {
        values.push_back(text_of(value));
    }
};

/// Reads a row's columns in the order of the calls.
class RowFields {
  public:
    explicit RowFields(const Rows& rows, int row = 0, int first = 0) : rows_(rows), row_(row), next_(first) {}

    template <class T>
    void operator()(std::string_view, T&& value) {
        get(value);
    }
    template <class T>
    void get(T&& value) {
        if (is_null())
            leave(value);
        else
            read(rows_.text(row_, next_), value);
        ++next_;
    }
    [[nodiscard]] bool is_null() const { return rows_.is_null(row_, next_); }

  private:
    template <class T>
    static void leave(std::optional<T>& value) {
        value.reset();
    }
    template <class T>
    static void leave(columns::KnownOrNull<T>& known) {
        known.value = unknown_uncertainty;
    }
    template <class T>
    static void leave(T&) {}

    template <std::integral T>
    static void read(std::string_view text, T& value) {
        value = static_cast<T>(number(text));
    }
    static void read(std::string_view text, double& value) { value = std::strtod(std::string(text).c_str(), nullptr); }
    static void read(std::string_view text, Duration& value) { value = Duration(number(text)); }
    static void read(std::string_view text, std::string& value) { value = text; }
    template <class T>
    requires std::is_enum_v<T>
    static void read(std::string_view text, T& value) {
        if constexpr (columns::has_word<T>) {
            const std::optional<T> known = from_word<T>(text);
            if (!known)
                throw columns::UnreadableValue("the word \"" + std::string(text) + "\" is not one of breakstep's");
            value = *known;
        } else {
            value = static_cast<T>(number(text));
        }
    }
    template <class T>
    static void read(std::string_view text, std::optional<T>& value) {
        read(text, value.emplace());
    }
    template <class T>
    static void read(std::string_view text, columns::KnownOrNull<T>& known) {
        read(text, known.value);
    }
    template <class T>
    static void read(std::string_view text, columns::TextOrNull<T>& value) {
        value.value = text;
    }
    static void read(std::string_view text, std::vector<Duration>& values) { values = columns::durations_from(text); }
    static void read(std::string_view text, std::vector<AttackPhase>& values) { values = columns::phases_from(text); }
    [[nodiscard]] static std::int64_t number(std::string_view text);

    const Rows& rows_;
    int row_, next_;
};

/// Of bytea as text: "\x0a1b".
[[nodiscard]] std::string bytes_from(std::string_view text);

[[nodiscard]] ServerColumns athlete_columns();
[[nodiscard]] ServerColumns measure_columns();
[[nodiscard]] ServerColumns session_columns();
[[nodiscard]] ServerColumns rep_columns();
[[nodiscard]] ServerColumns totals_columns();
/// Of a query of athlete_columns().
[[nodiscard]] Athlete athlete_from(const Rows& rows, int row);
[[nodiscard]] ValueList values_of(const Athlete& athlete);

/// Runs `work` and turns what reading throws into an Error (damaged).
template <class Work>
[[nodiscard]] Expected<void> readable(const std::string& shown, Work&& work) {
    try {
        work();
        return {};
    } catch (const columns::UnreadableValue& problem) {
        return failure(ErrorKind::damaged, "a value on the server " + shown + " can't be read: " + problem.what(),
                       "it was put there by something else, or by a newer breakstep: use the newest");
    }
}

}  // namespace breakstep::sharing
