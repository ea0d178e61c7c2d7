#include "harm/scenarios.hpp"

#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <fstream>

#include "harm/state.hpp"
#include "store/store.hpp"

namespace breakstep::harm {

namespace fs = std::filesystem;

namespace {

std::string run_all(const fs::path& folder, const std::vector<std::string>& lines) {
    for (const std::string& line : lines) {
        std::string said;
        if (run_in(folder, line, said) != 0) return line + ": " + said;
    }
    return "";
}

void write_past(const fs::path& file, int first_day, int values) {
    std::ofstream out(file);
    out << "athlete,date,measure,value\n";
    for (int i = 0; i < values; ++i)
        out << (i % 2 == 0 ? "Heron" : "Wren") << ",2024-0" << 1 + i % 9 << "-" << (first_day + i / 9 < 10 ? "0" : "")
            << first_day + i / 9 << ",reach_cm," << 100 + i << '\n';
}

// Leaves a measure in the write-ahead log alone, as a program that was ended does.
std::string leave_in_log(const fs::path& path) {
    const pid_t child = fork();
    if (child == 0) {
        StoreOptions options;
        options.mode = StoreMode::inline_writes;
        const auto store = Store::open(path, options);
        if (!store) _exit(1);
        const auto heron = (*store)->find_athlete("Heron");
        if (!heron || !*heron) _exit(2);
        const Measure measure{(*heron)->id, "in_the_log", "2024-05-05", 5};
        _exit((*store)->add_all({}, {&measure, 1}) ? 0 : 3);
    }
    int status = 0;
    waitpid(child, &status, 0);
    std::error_code problem;
    if (WIFEXITED(status) && WEXITSTATUS(status) == 0 && fs::file_size(path.string() + "-wal", problem) > 0) return "";
    return "no log could be left beside " + path.string();
}

std::string demo_store(const fs::path& folder) {
    return run_all(folder, {"demo --headless --fast --seed 3 --store a.db"});
}

std::string store_and_backup(const fs::path& folder) {
    std::string problem = demo_store(folder);
    if (problem.empty())
        problem = run_all(folder, {"backup b.db --store a.db", "athletes add Godwit --store a.db",
                                   "athletes change Heron --notes newer --store a.db"});
    return problem.empty() ? leave_in_log(folder / "a.db") : problem;
}

std::string broken_store(const fs::path& folder) {
    std::string problem = demo_store(folder);
    if (!problem.empty()) return problem;
    std::fstream file(folder / "a.db", std::ios::in | std::ios::out | std::ios::binary);
    file.seekp(5 * 4096);
    file << std::string(4096, '\0');
    return file.flush() ? "" : "a.db can't be broken";
}

std::string old_page(const fs::path& folder) {
    return run_all(folder, {"demo --headless --fast --seed 3 --store a.db", "report athlete Heron --store a.db",
                            "drill feints --rig simulated --fast --headless --athlete Heron --seed 5 --store a.db"});
}

// Whoever was put aside is a whole store.
std::string put_aside_are_whole(const fs::path& folder) {
    for (const auto& entry : fs::directory_iterator(folder)) {
        const std::string name = entry.path().filename().string();
        if (!name.starts_with("a.db.replaced-") || name.ends_with("-wal") || name.ends_with("-shm") ||
            name.ends_with(".lock"))
            continue;
        if (content_of_store(entry.path()).starts_with("unreadable")) return name + " is not whole";
    }
    return "";
}

std::string copy_is_noted(const fs::path& folder) {
    std::error_code problem;
    if (!fs::exists(folder / "b.db", problem)) return "";
    StoreOptions options;
    options.mode = StoreMode::read_only;
    const auto store = Store::open(folder / "a.db", options);
    if (!store) return store.error().text();
    const auto notes = (*store)->backups();
    if (!notes) return notes.error().text();
    const bool noted =
        std::any_of(notes->begin(), notes->end(), [](const BackupNote& note) { return note.path.ends_with("/b.db"); });
    return noted ? "" : "b.db is there and the store does not know of it";
}

}  // namespace

std::vector<Scenario> all_scenarios() {
    std::vector<Scenario> all;
    // A store without anybody comes before the athlete does.
    all.push_back({"first start",
                   "athletes add Heron --store a.db",
                   [](const fs::path&) { return std::string(); },
                   {{"a.db", true, {""}}},
                   {0, 2}});
    all.push_back({"import",
                   "import past.csv --store a.db",
                   [](const fs::path& folder) {
                       write_past(folder / "past.csv", 1, 90);
                       return demo_store(folder);
                   },
                   {{"a.db"}},
                   {0, 2}});
    all.push_back({"backup", "backup b.db --store a.db", demo_store, {{"a.db"}, {"b.db"}}, {0, 2}, copy_is_noted});
    all.push_back(
        {"restore", "restore b.db --store a.db", store_and_backup, {{"a.db"}, {"b.db"}}, {0}, put_aside_are_whole});
    all.push_back({"rescue", "rescue c.db --store a.db", broken_store, {{"a.db"}, {"c.db"}}, {0, 2}});
    all.push_back(
        {"report", "report athlete Heron --store a.db", old_page, {{"a.db"}, {"reports/athlete-Heron.pdf", false}}});
    all.push_back({"erase", "athletes erase Heron --yes --store a.db", store_and_backup, {{"a.db"}}, {0, 2}});
    all.push_back({"export",
                   "export out.csv --overwrite --store a.db",
                   [](const fs::path& folder) {
                       std::ofstream(folder / "out.csv") << "an older export\n";
                       return demo_store(folder);
                   },
                   {{"a.db"}, {"out.csv", false}}});
    return all;
}

}  // namespace breakstep::harm
