// Reads a TOML table key by key: each key once, with its type, unit and allowed range. Whatever is not asked for is an
// unknown key. finish() gives the fault that comes first in the file, with file, line, key, what is allowed and the
// nearest known word for a misspelt one, and says how many more there are. A value; any thread.
#pragma once

#include <optional>
#include <set>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "core/time.hpp"
#include "core/trade/opponent.hpp"
#include "core/trade/vocabulary.hpp"
#include "settings/toml_tree.hpp"

namespace breakstep {

/// The one of `words` that `typed` was probably meant to be, if any is near.
[[nodiscard]] std::optional<std::string> nearest_word(std::span<const std::string> words, std::string_view typed);

class TableReader {
  public:
    /// `table` must outlive the reader. `prefix` stands before each key in errors ("opponent.").
    TableReader(const TomlNode& table, std::string file, std::string prefix = "");

    // Each leaves `target` alone if the key is missing.

    /// One line of at most 200 characters.
    void text(std::string_view key, std::string& target);
    /// 16 hexadecimal digits, or "".
    void hexadecimal_id(std::string_view key, std::string& target);
    void boolean(std::string_view key, bool& target);
    void integer(std::string_view key, std::int64_t low, std::int64_t high, std::int32_t& target);
    void real(std::string_view key, double low, double high, double& target);
    /// The key ends in its unit: "_ms" or "_s".
    void duration(std::string_view key, Duration low, Duration high, Duration& target);
    /// [mean, shortest, longest] in ms, each from 10 to 10,000, shortest <= mean <= longest.
    void range_ms(std::string_view key, LengthRange& target);

    template <class Enum>
    void one_of(std::string_view key, std::span<const std::string_view> words, Enum& target) {
        if (const auto index = word_index(key, words)) target = static_cast<Enum>(*index);
    }
    [[nodiscard]] std::optional<std::size_t> word_index(std::string_view key, std::span<const std::string_view> words);
    /// A list of words: their indices.
    void words(std::string_view key, std::span<const std::string_view> known, std::vector<std::size_t>& target);

    /// A list of texts, none of them empty.
    void texts(std::string_view key, std::vector<std::string>& target);

    [[nodiscard]] const TomlNode* table(std::string_view key);
    /// Tables in a list; an error if it is none.
    [[nodiscard]] std::vector<const TomlNode*> tables(std::string_view key);

    /// An error about the table or one of its keys that the caller found.
    void refuse(std::string_view key, const std::string& what, const std::string& to_do);
    /// Takes over the faults of a table inside this one, whose unknown keys are then found too.
    void take_faults(TableReader& inner);
    [[nodiscard]] bool has(std::string_view key) const { return find(key) != nullptr; }
    /// Whether every key that stands there was asked for so far.
    [[nodiscard]] bool knows_all() const;
    [[nodiscard]] Expected<void> finish();

  private:
    struct Fault {
        int line = 0;
        Error error;
    };
    [[nodiscard]] const TomlNode* find(std::string_view key) const;
    [[nodiscard]] const TomlNode* ask(std::string_view key);
    void wrong(const TomlNode& node, std::string_view key, const std::string& what, const std::string& allowed);
    void find_unknown_keys();

    const TomlNode& table_;
    std::string file_, prefix_;
    std::set<std::string, std::less<>> known_;
    std::vector<Fault> faults_;
};

}  // namespace breakstep
