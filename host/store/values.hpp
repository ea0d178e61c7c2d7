// Values of ours into and out of SQL statements. Internal to host/store; throws SQLite::Exception as SQLiteCpp does,
// and UnreadableValue for a column that holds what no version of ours wrote.
#pragma once

#include <bit>
#include <concepts>
#include <cstdint>
#include <optional>
#include <stdexcept>
#include <string>
#include <string_view>
#include <type_traits>
#include <vector>

#include <SQLiteCpp/SQLiteCpp.h>

#include "store/columns.hpp"

namespace breakstep {

namespace columns {

struct UnreadableValue : std::runtime_error {
    using std::runtime_error::runtime_error;
};

/// "140000000 95000000"
[[nodiscard]] std::string text_of(const std::vector<Duration>& values);
[[nodiscard]] std::vector<Duration> durations_from(std::string_view text);
/// "lift 140000000, up-held 500000000"
[[nodiscard]] std::string text_of(const std::vector<AttackPhase>& phases);
[[nodiscard]] std::vector<AttackPhase> phases_from(std::string_view text);

template <class T>
inline constexpr bool has_word = requires(T value) {
    word(value);
};

/// Binds values to ?1, ?2, ... in the order of the calls. Strings are bound without a copy: they must outlive the step.
class Binder {
  public:
    explicit Binder(SQLite::Statement& statement, int first = 1) : statement_(statement), next_(first) {}

    template <class T>
    void operator()(std::string_view, const T& value) {
        put(value);
    }
    template <std::integral T>
    void put(T value) {
        statement_.bind(next_++, static_cast<std::int64_t>(value));
    }
    void put(double value) { statement_.bind(next_++, value); }
    void put(Duration value) { put(value.count()); }
    void put(const std::string& value) { statement_.bindNoCopy(next_++, value); }
    void put_blob(std::string_view bytes) {
        statement_.bindNoCopy(next_++, static_cast<const void*>(bytes.data()), static_cast<int>(bytes.size()));
    }
    void put_null() { statement_.bind(next_++); }
    template <class T>
    requires std::is_enum_v<T>
    void put(T value) {
        if constexpr (has_word<T>)
            statement_.bind(next_++, std::string(word(value)));
        else
            put(static_cast<std::underlying_type_t<T>>(value));
    }
    template <class T>
    void put(const std::optional<T>& value) {
        if (value)
            put(*value);
        else
            put_null();
    }
    template <class T>
    void put(KnownOrNull<T> known) {
        if (known.value == unknown_uncertainty)
            put_null();
        else
            put(known.value);
    }
    template <class T>
    void put(TextOrNull<T> text) {
        if (text.value.empty())
            put_null();
        else
            put(text.value);
    }
    template <class T>
    void put(const std::vector<T>& values) {
        statement_.bind(next_++, text_of(values));
    }

  private:
    SQLite::Statement& statement_;
    int next_;
};

/// Reads columns in the order of the calls.
class RowReader {
  public:
    explicit RowReader(SQLite::Statement& statement, int first = 0) : statement_(statement), next_(first) {}

    template <class T>
    void operator()(std::string_view, T&& value) {
        get(value);
    }
    template <std::integral T>
    void get(T& value) {
        value = static_cast<T>(statement_.getColumn(next_++).getInt64());
    }
    void get(double& value) { value = statement_.getColumn(next_++).getDouble(); }
    void get(Duration& value) { value = Duration(statement_.getColumn(next_++).getInt64()); }
    void get(std::string& value) { value = statement_.getColumn(next_++).getString(); }
    template <class T>
    requires std::is_enum_v<T>
    void get(T& value) {
        if constexpr (has_word<T>) {
            const std::string text = statement_.getColumn(next_++).getString();
            const std::optional<T> known = from_word<T>(text);
            if (!known) throw UnreadableValue("the word \"" + text + "\" is not one of breakstep's");
            value = *known;
        } else {
            std::underlying_type_t<T> number{};
            get(number);
            value = static_cast<T>(number);
        }
    }
    template <class T>
    void get(std::optional<T>& value) {
        if (is_null()) {
            value.reset();
            ++next_;
        } else {
            get(value.emplace());
        }
    }
    template <class T>
    void get(KnownOrNull<T>& known) {
        std::optional<Duration> read;
        get(read);
        known.value = read.value_or(unknown_uncertainty);
    }
    template <class T>
    void get(TextOrNull<T>& text) {
        std::optional<std::string> read;
        get(read);
        text.value = read.value_or("");
    }
    void get(std::vector<Duration>& values) { values = durations_from(statement_.getColumn(next_++).getString()); }
    void get(std::vector<AttackPhase>& values) { values = phases_from(statement_.getColumn(next_++).getString()); }
    [[nodiscard]] bool is_null() const { return statement_.isColumnNull(next_); }

  private:
    SQLite::Statement& statement_;
    int next_;
};

/// Gathers "a, b, c" and "?, ?, ?" for a visitor list.
class ColumnNames {
  public:
    template <class T>
    void operator()(std::string_view name, const T&) {
        names_.emplace_back(name);
    }
    [[nodiscard]] const std::vector<std::string>& names() const { return names_; }
    [[nodiscard]] std::string list() const;
    [[nodiscard]] std::string placeholders() const;
    /// "a = ?, b = ?"
    [[nodiscard]] std::string assignments() const;

  private:
    std::vector<std::string> names_;
};

}  // namespace columns
}  // namespace breakstep
