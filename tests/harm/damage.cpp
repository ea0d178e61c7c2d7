// Stores that were damaged by chance: pages swapped, zeroed, bits flipped, the end cut. Whatever is read from one is
// what was written, or the command says that it is not whole: never a silent wrong result. And a million imported rows.
//
// harm_damage [--quick] [--seed N]. Ends with "N passed, N failed"; exit code 0 if none failed.
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <map>
#include <string>
#include <vector>

#include "core/random.hpp"
#include "harm/state.hpp"

using namespace breakstep;
using namespace breakstep::harm;
namespace fs = std::filesystem;

namespace {

constexpr std::size_t page_bytes = 4096;
const std::vector<std::string> commands{"progress --json --store a.db", "export - --json --store a.db",
                                        "report group --format svg --out pages --overwrite --store a.db",
                                        "athletes list --json --store a.db"};
enum class Damage { swapped, zeroed, flipped, cut };
constexpr const char* damage_words[] = {"two pages swapped", "a page zeroed", "a bit flipped", "the end cut"};

struct Counts {
    int passed = 0, failed = 0;
};

std::string damaged(std::string bytes, Damage damage, Random& random) {
    const auto pages = static_cast<std::uint32_t>(bytes.size() / page_bytes);
    const auto page = [&] { return static_cast<std::size_t>(random.below(pages)) * page_bytes; };
    switch (damage) {
        case Damage::swapped: {
            const std::size_t one = page(), other = page();
            std::swap_ranges(bytes.begin() + static_cast<std::ptrdiff_t>(one),
                             bytes.begin() + static_cast<std::ptrdiff_t>(one + page_bytes),
                             bytes.begin() + static_cast<std::ptrdiff_t>(other));
            break;
        }
        case Damage::zeroed:
            bytes.replace(page(), page_bytes, page_bytes, '\0');
            break;
        case Damage::flipped: {
            char& byte = bytes[page() + random.below(page_bytes)];
            byte = static_cast<char>(static_cast<unsigned char>(byte) ^ (1U << random.below(8)));
            break;
        }
        case Damage::cut:
            bytes.resize(page() + random.below(page_bytes));
            break;
    }
    return bytes;
}

/// What each command answers, the pages it wrote included.
std::vector<std::string> answers_in(const fs::path& folder, std::vector<int>& codes) {
    std::vector<std::string> answers;
    for (const std::string& command : commands) {
        std::string said;
        codes.push_back(run_in(folder, command, said));
        answers.push_back(said + content_of_file(folder / "pages" / "group.svg"));
    }
    return answers;
}

Counts damage_stores(int count, std::uint64_t seed, int weeks) {
    const Folder whole;
    std::string said;
    if (run_in(whole.path(), "demo --term --weeks " + std::to_string(weeks) + " --seed 5 --store a.db", said) != 0) {
        std::printf("no store could be made: %s\n", said.c_str());
        return {0, 1};
    }
    const std::string bytes = content_of_file(whole.path() / "a.db");
    std::vector<int> codes;
    const std::vector<std::string> right = answers_in(whole.path(), codes);
    if (std::any_of(codes.begin(), codes.end(), [](int code) { return code != 0; })) {
        std::printf("the whole store can't be read: %s\n", right[0].c_str());
        return {0, 1};
    }
    Counts counts;
    std::map<std::string, int> told, unharmed;
    Random random(seed, 0xDA);
    for (int i = 0; i < count; ++i) {
        const auto damage = static_cast<Damage>(i % 4);
        const std::string broken = damaged(bytes, damage, random);
        const Folder folder;
        std::ofstream(folder.path() / "a.db", std::ios::binary) << broken;
        std::vector<int> now;
        const std::vector<std::string> answers = answers_in(folder.path(), now);
        bool good = true;
        for (std::size_t c = 0; c < commands.size(); ++c) {
            // The list of athletes is not looked at before: it is not a result.
            const bool is_result = c + 1 < commands.size();
            if (now[c] < 0 || now[c] > 4 || (is_result && now[c] == 0 && answers[c] != right[c])) {
                std::printf("store %d, %s: `%s` ends with %d and says something else than before\n", i,
                            damage_words[static_cast<int>(damage)], commands[c].c_str(), now[c]);
                good = false;
            }
        }
        ++(good ? counts.passed : counts.failed);
        ++(now[0] != 0 ? told : unharmed)[damage_words[static_cast<int>(damage)]];
    }
    for (const char* word : damage_words)
        std::printf("%-18s told %3d, harmless (or nothing changed) %3d\n", word, told[word], unharmed[word]);
    return counts;
}

// The largest memory of any child so far, in MiB.
long peak_of_children() {
    rusage used{};
    getrusage(RUSAGE_CHILDREN, &used);
    return used.ru_maxrss / 1024;
}

Counts import_a_million(int rows) {
    const Folder folder;
    {
        std::ofstream out(folder.path() / "past.csv");
        out << "athlete,date,measure,value\n";
        int left = rows;
        for (int measure = 0; left > 0; ++measure)
            for (int year = 2015; year < 2025 && left > 0; ++year)
                for (int month = 1; month <= 12 && left > 0; ++month)
                    for (int day = 1; day <= 28 && left > 0; ++day)
                        for (int athlete = 0; athlete < 50 && left > 0; ++athlete, --left)
                            out << "Bird" << athlete << ',' << year << (month < 10 ? "-0" : "-") << month
                                << (day < 10 ? "-0" : "-") << day << ",measure_" << measure << ','
                                << 200 + (day * 7 + athlete) % 100 << '\n';
    }
    std::string said;
    const int code = run_in(folder.path(), "import past.csv --json --store a.db", said);
    const long peak = peak_of_children();
    std::printf("%d rows imported: exit code %d, at most %ld MiB (allowed are 300)\n", rows, code, peak);
    return code == 0 && peak < 300 ? Counts{1, 0} : Counts{0, 1};
}

}  // namespace

int main(int count, char** arguments) {
    bool quick = false;
    std::uint64_t seed = 20261126;
    for (int i = 1; i < count; ++i) {
        const std::string word = arguments[i];
        if (word == "--quick")
            quick = true;
        else if (word == "--seed" && i + 1 < count)
            seed = std::strtoull(arguments[++i], nullptr, 10);
        else
            return std::fprintf(stderr, "harm_damage [--quick] [--seed N]\n"), 2;
    }
    // First, so that no other child's memory counts.
    const Counts imported = import_a_million(quick ? 100'000 : 1'000'000);
    const Counts stores = damage_stores(quick ? 12 : 200, seed, quick ? 2 : 4);
    const int passed = imported.passed + stores.passed, failed = imported.failed + stores.failed;
    std::printf("%d passed, %d failed\n", passed, failed);
    return failed == 0 ? 0 : 1;
}
