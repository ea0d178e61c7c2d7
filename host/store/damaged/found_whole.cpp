#include "store/damaged/found_whole.hpp"

#include <sys/stat.h>

#include <sstream>
#include <vector>

#include "files/new_file.hpp"
#include "files/reading.hpp"

namespace breakstep {

namespace fs = std::filesystem;

namespace {

constexpr std::size_t memory_bytes_max = std::size_t{1} << 20U;
constexpr std::size_t remembered_max = 50;

std::vector<std::string> lines_of(const fs::path& memory) {
    std::vector<std::string> lines;
    const auto text = files::read_whole(memory, memory_bytes_max);
    if (!text) return lines;
    std::istringstream in(*text);
    for (std::string line; std::getline(in, line);) lines.push_back(line);
    return lines;
}

void tell(std::ostream& out, const std::string& path) {
    struct stat facts {};
    if (::stat(path.c_str(), &facts) != 0) return;
    out << facts.st_dev << ' ' << facts.st_ino << ' ' << facts.st_size << ' ' << facts.st_mtim.tv_sec << ' '
        << facts.st_mtim.tv_nsec << ' ' << facts.st_ctim.tv_sec << ' ' << facts.st_ctim.tv_nsec << ' ';
}

}  // namespace

std::string fingerprint_of(const fs::path& store) {
    std::ostringstream out;
    tell(out, store.string());
    if (out.str().empty()) return "";
    struct stat log {};
    // An empty log says as little as none.
    if (::stat((store.string() + "-wal").c_str(), &log) == 0 && log.st_size > 0) tell(out, store.string() + "-wal");
    std::string place = store.string();
    for (char& character : place)
        if (character == '\n') character = ' ';
    return out.str() + place;
}

bool was_whole(const fs::path& memory, const std::string& fingerprint) {
    if (fingerprint.empty()) return false;
    for (const std::string& line : lines_of(memory))
        if (line == fingerprint) return true;
    return false;
}

void remember_whole(const fs::path& memory, const std::string& fingerprint) {
    if (fingerprint.empty()) return;
    std::vector<std::string> lines = lines_of(memory);
    const std::string place =
        fingerprint.substr(fingerprint.rfind(" /") == std::string::npos ? fingerprint.size() : fingerprint.rfind(" /"));
    std::erase_if(lines, [&](const std::string& line) { return !place.empty() && line.ends_with(place); });
    lines.push_back(fingerprint);
    const std::size_t first = lines.size() > remembered_max ? lines.size() - remembered_max : 0;
    std::string text;
    for (std::size_t i = first; i < lines.size(); ++i) text += lines[i] + '\n';
    if (files::make_folder(memory.parent_path())) (void)files::write_whole(memory, text, files::Existing::replace);
}

}  // namespace breakstep
