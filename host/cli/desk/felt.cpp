#include "cli/desk/felt.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <set>
#include <sstream>
#include <vector>

#include "club/results/results.hpp"
#include "core/error.hpp"
#include "files/new_file.hpp"
#include "files/reading.hpp"

namespace breakstep {
namespace {

using desk::Felt;
using desk::FeltInSet;

constexpr std::size_t longest_file = 1024 * 1024;
constexpr const char* first_line = "session,set,felt";
constexpr const char* words[] = {"yes", "a little", "no"};

// Lines that are none are left out: the file is nobody's result.
Expected<std::vector<FeltInSet>> read_felt(const std::filesystem::path& file) {
    std::vector<FeltInSet> all;
    const auto text = files::read_whole(file, longest_file);
    if (!text && text.error().kind == ErrorKind::not_found) return all;
    if (!text) return tl::make_unexpected(text.error());
    std::istringstream in(*text);
    std::string line;
    while (std::getline(in, line)) {
        const auto first = line.find(','), second = line.find(',', first + 1);
        if (first != 16 || second == std::string::npos) continue;
        std::uint64_t id = 0;
        FeltInSet each;
        const char* const set_end = line.data() + second;
        if (std::from_chars(line.data(), line.data() + first, id, 16).ptr != line.data() + first ||
            std::from_chars(line.data() + first + 1, set_end, each.set).ptr != set_end)
            continue;
        each.session = SessionId{id};
        const auto* word = std::find(std::begin(words), std::end(words), line.substr(second + 1));
        if (word == std::end(words)) continue;
        each.felt = static_cast<Felt>(word - std::begin(words));
        all.push_back(each);
    }
    return all;
}

}  // namespace

Expected<void> keep_felt(const std::filesystem::path& folder, const Store& store, const FeltInSet& felt) {
    const auto sessions = store.sessions();
    if (!sessions) return tl::make_unexpected(sessions.error());
    std::set<SessionId> known;
    for (const SessionSummary& each : *sessions) known.insert(each.id);
    if (!known.contains(felt.session))
        return failure(ErrorKind::not_found, "that set's session is not kept", "nothing is to be done");
    if (const auto made = files::make_folder(folder); !made) return made;
    auto all = read_felt(folder / "felt.csv");
    if (!all) return tl::make_unexpected(all.error());
    std::erase_if(*all, [&](const FeltInSet& each) {
        return !known.contains(each.session) || (each.session == felt.session && each.set == felt.set);
    });
    all->push_back(felt);
    std::string text = std::string(first_line) + "\n";
    for (const FeltInSet& each : *all)
        text += fmt::format("{},{},{}\n", id_text(each.session), each.set, words[static_cast<std::size_t>(each.felt)]);
    return files::write_whole(folder / "felt.csv", text, files::Existing::replace);
}

Expected<std::string> felt_and_figures(const std::filesystem::path& folder, const Store& store) {
    const auto all = read_felt(folder / "felt.csv");
    if (!all) return tl::make_unexpected(all.error());
    std::int32_t answers = 0, agree = 0;
    for (const FeltInSet& each : *all) {
        const auto totals = store.totals(each.session);
        if (!totals) return tl::make_unexpected(totals.error());
        if (!*totals || !(*totals)->timeable) continue;
        const Sign sign = (*totals)->sign;
        const Felt figure = sign == Sign::tell ? Felt::yes : sign == Sign::hunch ? Felt::a_little : Felt::no;
        ++answers;
        agree += figure == each.felt ? 1 : 0;
    }
    if (answers == 0) return std::string();
    return fmt::format("Could they be timed? Partners and figures say the same in {} of {} {}.", agree, answers,
                       answers == 1 ? "set" : "sets");
}

}  // namespace breakstep
