#include "settings/table_reader.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <iterator>
#include <numeric>

namespace breakstep {
namespace {

// Levenshtein 1966: how many single changes make one word of the other.
std::size_t edits_between(std::string_view a, std::string_view b) {
    std::vector<std::size_t> row(b.size() + 1);
    std::iota(row.begin(), row.end(), std::size_t{0});
    for (std::size_t i = 0; i < a.size(); ++i) {
        std::size_t diagonal = row[0];
        row[0] = i + 1;
        for (std::size_t j = 0; j < b.size(); ++j) {
            const std::size_t change = diagonal + (a[i] == b[j] ? 0 : 1);
            diagonal = row[j + 1];
            row[j + 1] = std::min({row[j] + 1, row[j + 1] + 1, change});
        }
    }
    return row.back();
}

// The word that `typed` was probably meant to be, if any is near.
template <class Words>
std::optional<std::string> nearest_of(const Words& words, std::string_view typed) {
    constexpr std::size_t longest_word = 100;  // of ours; comparing takes time by both lengths
    if (typed.size() > longest_word) return std::nullopt;
    const auto nearest = std::min_element(words.begin(), words.end(), [typed](const auto& a, const auto& b) {
        return edits_between(a, typed) < edits_between(b, typed);
    });
    if (nearest == words.end() || edits_between(*nearest, typed) > 1 + typed.size() / 4) return std::nullopt;
    return std::string(*nearest);
}

std::string listed(std::span<const std::string_view> words) {
    std::string list;
    for (const std::string_view word : words) list += fmt::format("{}\"{}\"", list.empty() ? "" : ", ", word);
    return list;
}

bool is_number(const TomlNode& node) {
    return node.kind == TomlNode::Kind::integer || node.kind == TomlNode::Kind::real;
}

}  // namespace

std::optional<std::string> nearest_word(std::span<const std::string> words, std::string_view typed) {
    return nearest_of(words, typed);
}

TableReader::TableReader(const TomlNode& table, std::string file, std::string prefix)
    : table_(table), file_(std::move(file)), prefix_(std::move(prefix)) {}

const TomlNode* TableReader::find(std::string_view key) const {
    const auto found = std::find_if(table_.members.begin(), table_.members.end(),
                                    [key](const auto& member) { return member.key == key; });
    return found == table_.members.end() ? nullptr : &found->node;
}

const TomlNode* TableReader::ask(std::string_view key) {
    known_.emplace(key);
    return find(key);
}

void TableReader::wrong(const TomlNode& node, std::string_view key, const std::string& what,
                        const std::string& allowed) {
    const int line = std::max(node.line, 1);
    faults_.push_back({line, Error{ErrorKind::bad_input,
                                   fmt::format("{}, line {}: {}{} {}", file_, line, prefix_, key, what), allowed}});
}

void TableReader::refuse(std::string_view key, const std::string& what, const std::string& to_do) {
    const TomlNode* node = find(key);
    wrong(node != nullptr ? *node : table_, key, what, to_do);
}

void TableReader::take_faults(TableReader& inner) {
    inner.find_unknown_keys();
    std::move(inner.faults_.begin(), inner.faults_.end(), std::back_inserter(faults_));
    inner.faults_.clear();
}

void TableReader::text(std::string_view key, std::string& target) {
    const TomlNode* node = ask(key);
    if (node == nullptr) return;
    if (node->kind != TomlNode::Kind::text) return wrong(*node, key, "is no text", "write it in double quotes");
    constexpr std::size_t longest = 200;
    const auto characters = std::count_if(node->text.begin(), node->text.end(), [](char byte) {
        return (static_cast<unsigned char>(byte) & 0xC0U) != 0x80U;
    });
    const bool one_line = std::all_of(node->text.begin(), node->text.end(), [](char byte) {
        return static_cast<unsigned char>(byte) >= 0x20 && byte != 0x7f;
    });
    if (static_cast<std::size_t>(characters) > longest || !one_line)
        return wrong(*node, key, one_line ? "is too long" : "is not one line of plain text",
                     fmt::format("allowed are at most {} characters in one line", longest));
    target = node->text;
}

void TableReader::hexadecimal_id(std::string_view key, std::string& target) {
    const TomlNode* node = ask(key);
    if (node == nullptr) return;
    const bool good = node->kind == TomlNode::Kind::text && (node->text.empty() || node->text.size() == 16) &&
                      node->text.find_first_not_of("0123456789abcdefABCDEF") == std::string::npos;
    if (!good)
        return wrong(*node, key, "is no identity", "allowed are 16 hexadecimal digits in double quotes, or \"\"");
    target = node->text;
}

void TableReader::boolean(std::string_view key, bool& target) {
    const TomlNode* node = ask(key);
    if (node == nullptr) return;
    if (node->kind != TomlNode::Kind::boolean)
        return wrong(*node, key, "is neither true nor false", "write true or false");
    target = node->boolean;
}

void TableReader::integer(std::string_view key, std::int64_t low, std::int64_t high, std::int32_t& target) {
    const TomlNode* node = ask(key);
    if (node == nullptr) return;
    const std::string allowed = fmt::format("allowed is a whole number from {} to {}", low, high);
    if (node->kind != TomlNode::Kind::integer) return wrong(*node, key, "is no whole number", allowed);
    if (node->integer < low || node->integer > high)
        return wrong(*node, key, fmt::format("is {}", node->integer), allowed);
    target = static_cast<std::int32_t>(node->integer);
}

void TableReader::real(std::string_view key, double low, double high, double& target) {
    const TomlNode* node = ask(key);
    if (node == nullptr) return;
    const std::string allowed = fmt::format("allowed is a number from {} to {}", low, high);
    if (!is_number(*node)) return wrong(*node, key, "is no number", allowed);
    if (!(node->real >= low && node->real <= high)) return wrong(*node, key, fmt::format("is {}", node->real), allowed);
    target = node->real;
}

void TableReader::duration(std::string_view key, Duration low, Duration high, Duration& target) {
    const bool in_seconds = key.ends_with("_s");
    const double unit = in_seconds ? 1e9 : 1e6;
    double value = static_cast<double>(target.count()) / unit;
    const double before = value;
    real(key, static_cast<double>(low.count()) / unit, static_cast<double>(high.count()) / unit, value);
    if (value != before) target = Duration(static_cast<std::int64_t>(value * unit + (value < 0 ? -0.5 : 0.5)));
}

void TableReader::range_ms(std::string_view key, LengthRange& target) {
    constexpr double shortest = 10, longest = 10'000;
    const TomlNode* node = ask(key);
    if (node == nullptr) return;
    const std::string allowed =
        "allowed is [mean, shortest, longest] in ms, each from 10 to 10000, the mean between the others";
    if (node->kind != TomlNode::Kind::list || node->items.size() != 3 ||
        !std::all_of(node->items.begin(), node->items.end(), is_number))
        return wrong(*node, key, "is no list of three numbers", allowed);
    const double mean = node->items[0].real, low = node->items[1].real, high = node->items[2].real;
    if (!(low >= shortest && high <= longest && low <= mean && mean <= high))
        return wrong(*node, key, fmt::format("is [{}, {}, {}]", mean, low, high), allowed);
    const auto ms = [](double value) { return Duration(static_cast<std::int64_t>(value * 1e6 + 0.5)); };
    target = {ms(mean), ms(low), ms(high)};
}

std::optional<std::size_t> TableReader::word_index(std::string_view key, std::span<const std::string_view> words) {
    const TomlNode* node = ask(key);
    if (node == nullptr) return std::nullopt;
    const auto found = std::find(words.begin(), words.end(), node->text);
    if (node->kind != TomlNode::Kind::text || found == words.end()) {
        const bool is_text = node->kind == TomlNode::Kind::text;
        const auto meant = is_text ? nearest_of(words, node->text) : std::nullopt;
        wrong(*node, key, is_text ? fmt::format("is \"{}\"", node->text) : "is no text",
              (meant ? fmt::format("did you mean \"{}\"? ", *meant) : "") + "allowed is one of " + listed(words));
        return std::nullopt;
    }
    return static_cast<std::size_t>(found - words.begin());
}

void TableReader::words(std::string_view key, std::span<const std::string_view> known,
                        std::vector<std::size_t>& target) {
    const TomlNode* node = ask(key);
    if (node == nullptr) return;
    const std::string allowed = "allowed is a list of " + listed(known);
    if (node->kind != TomlNode::Kind::list) return wrong(*node, key, "is no list", allowed);
    target.clear();
    for (const TomlNode& item : node->items) {
        const auto found = std::find(known.begin(), known.end(), item.text);
        if (item.kind != TomlNode::Kind::text || found == known.end())
            return wrong(item, key, fmt::format("has \"{}\" in it", item.text), allowed);
        if (std::find(target.begin(), target.end(), static_cast<std::size_t>(found - known.begin())) != target.end())
            return wrong(item, key, fmt::format("has \"{}\" in it twice", item.text), "name each once");
        target.push_back(static_cast<std::size_t>(found - known.begin()));
    }
}

void TableReader::texts(std::string_view key, std::vector<std::string>& target) {
    const TomlNode* node = ask(key);
    if (node == nullptr) return;
    const std::string allowed = "allowed is a list of names, each in double quotes";
    if (node->kind != TomlNode::Kind::list) return wrong(*node, key, "is no list", allowed);
    target.clear();
    for (const TomlNode& item : node->items) {
        if (item.kind != TomlNode::Kind::text || item.text.empty())
            return wrong(item, key, "has something else than names in it", allowed);
        target.push_back(item.text);
    }
}

const TomlNode* TableReader::table(std::string_view key) {
    const TomlNode* node = ask(key);
    if (node == nullptr) return nullptr;
    if (node->kind == TomlNode::Kind::table) return node;
    wrong(*node, key, "is no table", fmt::format("write [{}{}] and its keys below", prefix_, key));
    return nullptr;
}

std::vector<const TomlNode*> TableReader::tables(std::string_view key) {
    const TomlNode* node = ask(key);
    std::vector<const TomlNode*> found;
    if (node == nullptr) return found;
    const bool all_tables = node->kind == TomlNode::Kind::list &&
                            std::all_of(node->items.begin(), node->items.end(),
                                        [](const TomlNode& item) { return item.kind == TomlNode::Kind::table; });
    if (!all_tables) {
        wrong(*node, key, "is no list of tables", fmt::format("begin each with [[{}{}]]", prefix_, key));
        return found;
    }
    for (const TomlNode& item : node->items) found.push_back(&item);
    return found;
}

bool TableReader::knows_all() const {
    return std::all_of(table_.members.begin(), table_.members.end(),
                       [&](const auto& member) { return known_.contains(member.key); });
}

void TableReader::find_unknown_keys() {
    for (const auto& [key, node] : table_.members) {
        if (known_.contains(key)) continue;
        const auto meant = nearest_of(known_, key);
        std::string all;
        for (const std::string& each : known_) all += (all.empty() ? "" : ", ") + each;
        wrong(node, key, "is no key that is known here",
              meant ? fmt::format("did you mean {}?", *meant) : "allowed are " + all);
    }
}

Expected<void> TableReader::finish() {
    find_unknown_keys();
    if (faults_.empty()) return {};
    const auto first = std::min_element(faults_.begin(), faults_.end(),
                                        [](const Fault& a, const Fault& b) { return a.line < b.line; });
    Error error = first->error;
    if (faults_.size() > 1) error.to_do += fmt::format(" (then {} more in this file)", faults_.size() - 1);
    return tl::make_unexpected(error);
}

}  // namespace breakstep
