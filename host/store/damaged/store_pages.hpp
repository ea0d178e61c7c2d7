// A SQLite file page by page, as it stands: for reading what a damaged one still holds. Internal to host/store.
//
// Offsets, page kinds and sums are those of SQLite's file format, https://www.sqlite.org/fileformat2.html, whose
// sections are named beside the code. Pages that the write-ahead log holds in a whole transaction take the place of the
// file's, as SQLite would have it. SQLite's own recovery needs its page table, which Debian 12's library is built
// without.
//
// One thread. Changes nothing. Fails (system) if the file can't be read at all.
#pragma once

#include <cstdint>
#include <filesystem>
#include <fstream>
#include <optional>
#include <string>
#include <unordered_map>

#include "core/error.hpp"

namespace breakstep {

class StorePages {
  public:
    [[nodiscard]] static Expected<StorePages> open(const std::filesystem::path& path);

    /// From the header where that is whole, else 4096, which is what breakstep's stores have.
    [[nodiscard]] std::uint32_t page_bytes() const { return page_bytes_; }
    /// Pages are counted from 1.
    [[nodiscard]] std::uint32_t pages() const { return pages_; }
    /// The schema's version, where the header is whole.
    [[nodiscard]] std::optional<std::int32_t> user_version() const { return user_version_; }
    /// The page's bytes, page_bytes() of them; empty for one that is not there.
    [[nodiscard]] const std::string& page(std::uint32_t number);

  private:
    explicit StorePages(std::ifstream file) : file_(std::move(file)) {}
    void read_header(std::uint64_t file_bytes);
    void read_log(const std::filesystem::path& path);

    std::ifstream file_, log_;
    std::uint32_t page_bytes_ = 4096, pages_ = 0;
    std::optional<std::int32_t> user_version_;
    std::unordered_map<std::uint32_t, std::uint64_t> in_log_;  ///< where in the log a page's newest bytes begin
    std::string buffer_;
};

/// Big-endian, as SQLite writes; `at` + 2 or 4 must be within.
[[nodiscard]] inline std::uint32_t number16_at(const std::string& bytes, std::size_t at) {
    const auto byte = [&](std::size_t i) { return static_cast<std::uint32_t>(static_cast<unsigned char>(bytes[i])); };
    return byte(at) << 8U | byte(at + 1);
}
[[nodiscard]] inline std::uint32_t number32_at(const std::string& bytes, std::size_t at) {
    return number16_at(bytes, at) << 16U | number16_at(bytes, at + 2);
}

}  // namespace breakstep
