#include "club/athletes/kept_taps.hpp"

#include <fmt/format.h>

#include <charconv>
#include <sstream>

#include "files/new_file.hpp"
#include "files/reading.hpp"

namespace breakstep {
namespace {

constexpr std::size_t longest_file = 16 * 1024 * 1024, most_kept = 200;
constexpr const char* first_line = "kept_on,number,time_s,who";

std::string text_of(const std::vector<KeptTaps>& all) {
    std::string text = std::string(first_line) + "\n";
    for (std::size_t i = 0; i < all.size(); ++i) {
        for (const double at : all[i].a) text += fmt::format("{},{},{:.4f},a\n", all[i].day, i + 1, at);
        for (const double at : all[i].b) text += fmt::format("{},{},{:.4f},b\n", all[i].day, i + 1, at);
    }
    return text;
}

/// One line into `all`; false: it is none.
bool take(const std::string& line, std::vector<KeptTaps>& all) {
    constexpr std::size_t day_length = 10;
    if (line.size() < day_length + 1 || line[day_length] != ',') return false;
    const char* const end = line.data() + line.size();
    std::size_t number = 0;
    const auto after_number = std::from_chars(line.data() + day_length + 1, end, number);
    if (after_number.ec != std::errc{} || after_number.ptr == end || *after_number.ptr != ',') return false;
    double at = 0;
    const auto after_time = std::from_chars(after_number.ptr + 1, end, at);
    if (after_time.ec != std::errc{} || end - after_time.ptr != 2 || *after_time.ptr != ',') return false;
    const char who = after_time.ptr[1];
    if ((who != 'a' && who != 'b') || number < 1 || number > all.size() + 1 || number > most_kept) return false;
    if (number == all.size() + 1) all.push_back({line.substr(0, day_length), {}, {}});
    (who == 'a' ? all[number - 1].a : all[number - 1].b).push_back(at);
    return true;
}

}  // namespace

std::filesystem::path taps_file(const std::filesystem::path& store, AthleteId athlete) {
    return std::filesystem::path(store.string() + ".desk") /
           fmt::format("taps-{:016x}.csv", static_cast<std::uint64_t>(athlete));
}

Expected<std::vector<KeptTaps>> read_taps(const std::filesystem::path& file) {
    std::vector<KeptTaps> all;
    const auto text = files::read_whole(file, longest_file);
    if (!text && text.error().kind == ErrorKind::not_found) return all;
    if (!text) return tl::make_unexpected(text.error());
    std::istringstream in(*text);
    std::string line;
    if (!std::getline(in, line) || line != first_line)
        return failure(ErrorKind::damaged, file.string() + " is no list of kept taps", "move it away and tap again");
    while (std::getline(in, line))
        if (!take(line, all))
            return failure(ErrorKind::damaged, file.string() + " is damaged at \"" + line.substr(0, 40) + "\"",
                           "take that line out, or move the file away");
    return all;
}

Expected<void> keep_taps(const std::filesystem::path& file, const KeptTaps& taps) {
    auto all = read_taps(file);
    if (!all) return tl::make_unexpected(all.error());
    if (all->size() == most_kept)
        return failure(ErrorKind::bad_input, "200 lists of taps are kept with that athlete, the most there may be",
                       "move " + file.string() + " away");
    if (const auto made = files::make_folder(file.parent_path()); !made) return made;
    all->push_back(taps);
    return files::write_whole(file, text_of(*all), files::Existing::replace);
}

}  // namespace breakstep
