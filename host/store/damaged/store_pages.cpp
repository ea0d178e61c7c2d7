#include "store/damaged/store_pages.hpp"

#include <algorithm>
#include <bit>
#include <cerrno>
#include <system_error>
#include <utility>

namespace breakstep {
namespace {

constexpr std::size_t log_header_bytes = 32, frame_header_bytes = 24;

// The log's sums, section 4.2: over pairs of words in the order of bytes that the log's first word tells.
struct LogSum {
    bool big_endian = false;
    std::uint32_t first = 0, second = 0;

    void add(const std::string& bytes, std::size_t begin, std::size_t count) {
        const auto word = [&](std::size_t at) {
            const std::uint32_t big = number32_at(bytes, at);
            if (big_endian) return big;
            return big >> 24U | (big >> 8U & 0xff00U) | (big << 8U & 0xff0000U) | big << 24U;
        };
        for (std::size_t at = begin; at + 8 <= begin + count; at += 8) {
            first += word(at) + second;
            second += word(at + 4) + first;
        }
    }
    [[nodiscard]] bool is(const std::string& bytes, std::size_t at) const {
        return number32_at(bytes, at) == first && number32_at(bytes, at + 4) == second;
    }
};

bool is_page_size(std::uint32_t bytes) { return bytes >= 512 && bytes <= 65536 && std::has_single_bit(bytes); }

bool read_at(std::ifstream& file, std::uint64_t at, std::string& into, std::size_t bytes) {
    into.resize(bytes);
    file.clear();
    file.seekg(static_cast<std::streamoff>(at));
    file.read(into.data(), static_cast<std::streamsize>(bytes));
    return file.gcount() == static_cast<std::streamsize>(bytes);
}

}  // namespace

Expected<StorePages> StorePages::open(const std::filesystem::path& path) {
    errno = 0;
    std::ifstream file(path, std::ios::binary);
    std::error_code problem;
    const std::uint64_t bytes = std::filesystem::file_size(path, problem);
    if (!file || problem)
        return failure(problem == std::errc::no_such_file_or_directory ? ErrorKind::not_found : ErrorKind::system,
                       path.string() + " can't be read: " + std::generic_category().message(errno),
                       "check the file's name and its permissions");
    StorePages pages(std::move(file));
    pages.read_header(bytes);
    pages.read_log(path);
    return pages;
}

// Section 1.3.
void StorePages::read_header(std::uint64_t file_bytes) {
    std::string header;
    if (read_at(file_, 0, header, 100) && header.starts_with(std::string("SQLite format 3\0", 16))) {
        const std::uint32_t told = number16_at(header, 16);
        const std::uint32_t bytes = told == 1 ? 65536 : told;
        if (is_page_size(bytes)) {
            page_bytes_ = bytes;
            user_version_ = static_cast<std::int32_t>(number32_at(header, 60));
        }
    }
    pages_ = static_cast<std::uint32_t>(std::min<std::uint64_t>(file_bytes / page_bytes_, UINT32_MAX));
}

// Section 4: frames count while their salts and sums are the log's, and up to the last that ends a transaction.
void StorePages::read_log(const std::filesystem::path& path) {
    log_.open(path.string() + "-wal", std::ios::binary);
    std::string header, frame;
    if (!log_ || !read_at(log_, 0, header, log_header_bytes)) return;
    const std::uint32_t magic = number32_at(header, 0);
    if ((magic & ~1U) != 0x377f0682U) return;
    LogSum sum{(magic & 1U) != 0};
    sum.add(header, 0, 24);
    const std::uint32_t bytes = number32_at(header, 8);
    if (!sum.is(header, 24) || !is_page_size(bytes) || (user_version_ && bytes != page_bytes_)) return;
    page_bytes_ = bytes;
    const std::uint32_t file_pages = pages_;
    std::unordered_map<std::uint32_t, std::uint64_t> open_transaction;
    for (std::uint64_t at = log_header_bytes; read_at(log_, at, frame, frame_header_bytes + bytes);
         at += frame_header_bytes + bytes) {
        sum.add(frame, 0, 8);
        sum.add(frame, frame_header_bytes, bytes);
        if (frame.compare(8, 8, header, 16, 8) != 0 || !sum.is(frame, 16)) break;
        open_transaction[number32_at(frame, 0)] = at + frame_header_bytes;
        const std::uint32_t pages_after = number32_at(frame, 4);
        if (pages_after == 0) continue;
        for (const auto& [page, where] : open_transaction) in_log_[page] = where;
        open_transaction.clear();
        pages_ = static_cast<std::uint32_t>(
            std::min<std::uint64_t>(pages_after, std::uint64_t{file_pages} + in_log_.size()));
    }
}

const std::string& StorePages::page(std::uint32_t number) {
    const auto logged = in_log_.find(number);
    const bool there =
        number >= 1 && number <= pages_ &&
        (logged != in_log_.end() ? read_at(log_, logged->second, buffer_, page_bytes_)
                                 : read_at(file_, std::uint64_t{number - 1} * page_bytes_, buffer_, page_bytes_));
    if (!there) buffer_.clear();
    return buffer_;
}

}  // namespace breakstep
