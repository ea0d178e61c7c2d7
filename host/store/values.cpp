#include "store/values.hpp"

#include <charconv>

namespace breakstep {
namespace columns {
namespace {

constexpr std::string_view held_suffix = "-held";

// Takes the text up to `separator` off the front of `rest`.
std::string_view take(std::string_view& rest, std::string_view separator) {
    const std::size_t end = rest.find(separator);
    const std::string_view part = rest.substr(0, end);
    rest.remove_prefix(end == std::string_view::npos ? rest.size() : end + separator.size());
    return part;
}

Duration duration_from(std::string_view text) {
    std::int64_t count = 0;
    const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), count);
    if (error != std::errc() || end != text.data() + text.size())
        throw UnreadableValue("\"" + std::string(text) + "\" is not a number of nanoseconds");
    return Duration(count);
}

std::string joined(const std::vector<std::string>& names, std::string_view before, std::string_view after) {
    std::string text;
    for (const std::string& name : names) {
        if (!text.empty()) text += ", ";
        text.append(before.empty() ? std::string_view(name) : before).append(after);
    }
    return text;
}

}  // namespace

std::string text_of(const std::vector<Duration>& values) {
    std::string text;
    for (const Duration value : values) {
        if (!text.empty()) text += ' ';
        text += std::to_string(value.count());
    }
    return text;
}

std::vector<Duration> durations_from(std::string_view text) {
    std::vector<Duration> values;
    while (!text.empty()) values.push_back(duration_from(take(text, " ")));
    return values;
}

std::string text_of(const std::vector<AttackPhase>& phases) {
    std::string text;
    for (const AttackPhase& phase : phases) {
        if (!text.empty()) text += ", ";
        text.append(word(phase.phase)).append(phase.held ? held_suffix : "").append(" ");
        text += std::to_string(phase.length.count());
    }
    return text;
}

std::vector<AttackPhase> phases_from(std::string_view text) {
    std::vector<AttackPhase> phases;
    while (!text.empty()) {
        const std::string_view whole = take(text, ", ");
        // A phase's word may have spaces in it.
        const std::size_t gap = std::min(whole.rfind(' '), whole.size());
        std::string_view name = whole.substr(0, gap);
        const std::string_view length = whole.substr(std::min(gap + 1, whole.size()));
        AttackPhase& phase = phases.emplace_back();
        phase.held = name.ends_with(held_suffix);
        if (phase.held) name.remove_suffix(held_suffix.size());
        const std::optional<Phase> known = from_word<Phase>(name);
        if (!known) throw UnreadableValue("\"" + std::string(name) + "\" is not a phase");
        phase.phase = *known;
        phase.length = duration_from(length);
    }
    return phases;
}

std::string ColumnNames::list() const { return joined(names_, "", ""); }
std::string ColumnNames::placeholders() const { return joined(names_, "?", ""); }
std::string ColumnNames::assignments() const { return joined(names_, "", " = ?"); }

}  // namespace columns
}  // namespace breakstep
