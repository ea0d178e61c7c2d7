#include "store/damaged/page_rows.hpp"

#include <bit>
#include <optional>
#include <string_view>

namespace breakstep {
namespace {

// Section 1.6: the kinds of pages that hold rows. Interior pages of tables with row numbers hold none.
enum PageKind : unsigned char { index_interior = 0x02, index_leaf = 0x0a, table_leaf = 0x0d };

/// Reads forward through bytes; null beyond their end.
class Cursor {
  public:
    Cursor(std::string_view bytes, std::size_t at) : bytes_(bytes), at_(at) {}
    [[nodiscard]] std::size_t at() const { return at_; }
    [[nodiscard]] bool has(std::size_t count) const { return at_ <= bytes_.size() && bytes_.size() - at_ >= count; }
    /// 1 to 9 bytes, 7 bits each but for the ninth, which has 8.
    std::optional<std::uint64_t> varint() {
        std::uint64_t value = 0;
        for (int i = 0; i < 9; ++i) {
            if (!has(1)) return std::nullopt;
            const auto byte = static_cast<unsigned char>(bytes_[at_++]);
            if (i == 8) return value << 8U | byte;
            value = value << 7U | (byte & 0x7fU);
            if ((byte & 0x80U) == 0) break;
        }
        return value;
    }
    std::optional<std::string_view> take(std::uint64_t count) {
        if (!has(static_cast<std::size_t>(count))) return std::nullopt;
        const std::string_view taken = bytes_.substr(at_, static_cast<std::size_t>(count));
        at_ += taken.size();
        return taken;
    }

  private:
    std::string_view bytes_;
    std::size_t at_;
};

std::int64_t whole_number(std::string_view bytes) {
    std::uint64_t value = (static_cast<unsigned char>(bytes[0]) & 0x80U) != 0 ? ~std::uint64_t{0} : 0;
    for (const char byte : bytes) value = value << 8U | static_cast<unsigned char>(byte);
    return static_cast<std::int64_t>(value);
}

// Section 2.1: what a serial type stands for.
std::optional<RowValue> value_of(std::uint64_t type, Cursor& body) {
    if (type == 0) return RowValue();
    if (type == 8 || type == 9) return RowValue(static_cast<std::int64_t>(type - 8));
    if (type == 10 || type == 11) return std::nullopt;
    constexpr std::uint64_t widths[] = {0, 1, 2, 3, 4, 6, 8, 8};
    const auto bytes = body.take(type < 8 ? widths[type] : (type - 12) / 2);
    if (!bytes) return std::nullopt;
    if (type == 7) return RowValue(std::bit_cast<double>(whole_number(*bytes)));
    if (type < 7) return RowValue(whole_number(*bytes));
    if (type % 2 == 0) return RowValue(Blob{std::string(*bytes)});
    return RowValue(std::string(*bytes));
}

std::optional<std::vector<RowValue>> values_of(const std::string& record) {
    Cursor header(record, 0);
    const auto header_bytes = header.varint();
    if (!header_bytes || *header_bytes > record.size()) return std::nullopt;
    Cursor body(record, static_cast<std::size_t>(*header_bytes));
    std::vector<RowValue> values;
    while (header.at() < *header_bytes) {
        const auto type = header.varint();
        if (!type) return std::nullopt;
        auto value = value_of(*type, body);
        if (!value) return std::nullopt;
        values.push_back(std::move(*value));
    }
    if (header.at() != *header_bytes || body.at() != record.size()) return std::nullopt;
    return values;
}

// How many of a record's bytes stand in the page itself, section 1.6; the others are in a chain of further pages.
std::uint64_t local_bytes(std::uint64_t bytes, std::uint64_t usable, bool table) {
    const std::uint64_t most = table ? usable - 35 : (usable - 12) * 64 / 255 - 23;
    if (bytes <= most) return bytes;
    const std::uint64_t least = (usable - 12) * 32 / 255 - 23;
    const std::uint64_t wanted = least + (bytes - least) % (usable - 4);
    return wanted <= most ? wanted : least;
}

// The rest of a record, from the page that `first` names on.
bool take_overflow(StorePages& file, std::uint32_t first, std::uint64_t bytes, std::string& record) {
    std::uint32_t number = first;
    while (record.size() < bytes) {
        const std::string& page = file.page(number);
        if (page.empty()) return false;
        record.append(page, 4, static_cast<std::size_t>(bytes - record.size()));
        number = number32_at(page, 0);
    }
    return number == 0;
}

std::optional<PageRow> row_at(StorePages& file, const std::string& page, PageKind kind, std::size_t at) {
    Cursor cell(page, at);
    if (kind == index_interior && !cell.take(4)) return std::nullopt;
    const auto bytes = cell.varint();
    // A record that is larger than the file is none.
    if (!bytes || *bytes > std::uint64_t{file.pages()} * file.page_bytes()) return std::nullopt;
    PageRow row;
    row.by_rowid = kind == table_leaf;
    if (row.by_rowid) {
        const auto rowid = cell.varint();
        if (!rowid) return std::nullopt;
        row.rowid = static_cast<std::int64_t>(*rowid);
    }
    const std::uint64_t local = local_bytes(*bytes, file.page_bytes(), row.by_rowid);
    const auto here = cell.take(local);
    if (!here) return std::nullopt;
    std::string record(*here);
    if (local < *bytes) {
        const auto next = cell.take(4);
        if (!next || !take_overflow(file, number32_at(std::string(*next), 0), *bytes, record)) return std::nullopt;
    }
    auto values = values_of(record);
    if (!values) return std::nullopt;
    row.values = std::move(*values);
    return row;
}

}  // namespace

PageCounts read_page_rows(StorePages& file, const std::function<void(PageRow&)>& each) {
    PageCounts counts;
    for (std::uint32_t number = 1; number <= file.pages(); ++number) {
        const std::string page = file.page(number);  // a copy: the chains of long records are read meanwhile
        if (page.empty()) continue;
        const std::size_t header = number == 1 ? 100 : 0;
        const auto kind = static_cast<PageKind>(page[header]);
        if (kind != index_interior && kind != index_leaf && kind != table_leaf) continue;
        const std::size_t pointers = header + (kind == index_interior ? 12 : 8);
        const std::uint32_t cells = number16_at(page, header + 3);
        for (std::uint32_t i = 0; i < cells && pointers + 2 * i + 2 <= page.size(); ++i) {
            auto row = row_at(file, page, kind, number16_at(page, pointers + 2 * i));
            if (row) {
                ++counts.rows;
                each(*row);
            } else {
                ++counts.rows_unreadable;
            }
        }
    }
    return counts;
}

}  // namespace breakstep
