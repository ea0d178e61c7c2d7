#include "club/sharing/values.hpp"

namespace breakstep::sharing {
namespace {

constexpr char digits[] = "0123456789abcdef";

int digit_of(char c) {
    if (c >= '0' && c <= '9') return c - '0';
    if (c >= 'a' && c <= 'f') return c - 'a' + 10;
    throw columns::UnreadableValue("bytes are not written as they should be");
}

template <class Row, class Visit>
ServerColumns columns_for(Visit&& visit) {
    Row shape;
    ServerColumns found;
    visit(shape, found);
    return found;
}

}  // namespace

void CopyLine::separate() {
    if (!first_) to_ += '\t';
    first_ = false;
}

void CopyLine::put(const Value& value) {
    separate();
    if (!value) {
        to_ += "\\N";
        return;
    }
    for (const char c : *value) switch (c) {
            case '\\':
                to_ += "\\\\";
                break;
            case '\t':
                to_ += "\\t";
                break;
            case '\n':
                to_ += "\\n";
                break;
            case '\r':
                to_ += "\\r";
                break;
            default:
                to_ += c;
        }
}

CopyLine& CopyLine::add_bytes(std::string_view bytes) {
    separate();
    to_ += "\\\\x";
    for (const char c : bytes) {
        const auto byte = static_cast<unsigned char>(c);
        to_ += digits[byte >> 4U];
        to_ += digits[byte & 15U];
    }
    return *this;
}

std::int64_t RowFields::number(std::string_view text) {
    std::int64_t value = 0;
    const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
    if (error != std::errc() || end != text.data() + text.size())
        throw columns::UnreadableValue("\"" + std::string(text) + "\" is not a number");
    return value;
}

std::string bytes_from(std::string_view text) {
    if (!text.starts_with("\\x") || text.size() % 2 != 0)
        throw columns::UnreadableValue("bytes are not written as they should be");
    std::string bytes;
    bytes.reserve(text.size() / 2 - 1);
    for (std::size_t i = 2; i < text.size(); i += 2)
        bytes += static_cast<char>((digit_of(text[i]) << 4) | digit_of(text[i + 1]));
    return bytes;
}

ServerColumns athlete_columns() {
    ServerColumns found;
    const Athlete athlete;
    const Consent consent;
    columns::visit_athlete(athlete, found);
    columns::visit_consent(consent, found);
    return found;
}
ServerColumns measure_columns() {
    return columns_for<Measure>([](auto& row, auto& to) { columns::visit_measure(row, to); });
}
ServerColumns session_columns() {
    return columns_for<SessionSummary>([](auto& row, auto& to) { columns::visit_session(row, to); });
}
ServerColumns rep_columns() {
    return columns_for<RepResult>([](auto& row, auto& to) { columns::visit_rep(row, to); });
}
ServerColumns totals_columns() {
    return columns_for<SessionTotals>([](auto& row, auto& to) { columns::visit_totals(row, to); });
}

Athlete athlete_from(const Rows& rows, int row) {
    Athlete athlete;
    RowFields fields(rows, row);
    columns::visit_athlete(athlete, fields);
    if (!fields.is_null()) columns::visit_consent(athlete.consent.emplace(), fields);
    return athlete;
}

ValueList values_of(const Athlete& athlete) {
    ValueList list;
    columns::visit_athlete(athlete, list);
    if (athlete.consent)
        columns::visit_consent(*athlete.consent, list);
    else
        list.values.resize(list.values.size() + 3);
    return list;
}

}  // namespace breakstep::sharing
