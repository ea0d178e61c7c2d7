#include "harm/state.hpp"

#include <sys/wait.h>
#include <unistd.h>

#include <cstdlib>
#include <fstream>
#include <iterator>
#include <map>
#include <set>
#include <sstream>

#include "places.hpp"
#include "store/store.hpp"

namespace breakstep::harm {

namespace fs = std::filesystem;

namespace {

void tell(std::ostream& out, const Store& store) {
    // Ids are drawn anew in each run: who is who is told by call-signs.
    std::map<AthleteId, std::string> names;
    const auto athletes = store.athletes().value();
    const auto sessions = store.sessions().value();
    const auto measures = store.measures().value();
    for (const Athlete& athlete : athletes) names.emplace(athlete.id, athlete.call_sign);
    for (const Athlete& athlete : athletes)
        out << "athlete " << athlete.call_sign << ' ' << athlete.real_name << ' ' << athlete.notes << '\n';
    for (const SessionSummary& session : sessions) {
        out << "session " << session.number << ' ' << static_cast<std::uint64_t>(session.id) << ' ' << session.drill
            << ' ' << session.reps << '\n';
        (void)store
            .read_raw_records(session.id,
                              [&](const Store::RawRecord& record) {
                                  out << record.position << ' ' << record.kind << ' '
                                      << std::hash<std::string_view>()(record.bytes) << '\n';
                              })
            .value();
        const auto reps = store.reps(session.id).value();
        for (const RepResult& rep : reps)
            out << static_cast<int>(rep.verdict) << ' ' << (rep.latency ? rep.latency->count() : -1) << '\n';
        const auto totals = store.totals(session.id).value();
        out << (totals ? totals->scored : -1) << '\n';
    }
    // They stand in the order of the drawn ids.
    std::set<std::string> lines;
    for (const Measure& measure : measures)
        lines.insert("measure " + names[measure.athlete] + ' ' + measure.measure + ' ' + measure.date + ' ' +
                     std::to_string(measure.value) + '\n');
    for (const std::string& line : lines) out << line;
}

}  // namespace

std::string content_of_store(const fs::path& path) {
    std::error_code problem;
    if (!fs::exists(path, problem)) return "absent";
    StoreOptions options;
    options.mode = StoreMode::read_only;
    const auto store = Store::open(path, options);
    if (!store) return "unreadable: " + store.error().text();
    if (const auto whole = (*store)->check(); !whole) return "unreadable: " + whole.error().text();
    std::ostringstream out;
    tell(out, **store);
    return out.str();
}

std::string content_of_file(const fs::path& path) {
    std::error_code problem;
    if (!fs::exists(path, problem)) return "absent";
    std::ifstream file(path, std::ios::binary);
    return {std::istreambuf_iterator<char>(file), {}};
}

Folder::Folder() {
    char name[] = "/tmp/breakstep-harm-XXXXXX";
    path_ = mkdtemp(name);
}

Folder::~Folder() {
    std::error_code ignored;
    fs::remove_all(path_, ignored);
}

int run_in(const fs::path& folder, const std::string& arguments, std::string& said) {
    const std::string output = folder.string() + ".said";
    const std::string command = "cd " + folder.string() + " && HOME=" + folder.string() +
                                " XDG_CONFIG_HOME= XDG_DATA_HOME= XDG_CACHE_HOME= XDG_STATE_HOME= BREAKSTEP_CONFIG= "
                                "timeout 120 " BREAKSTEP_PROGRAM " " +
                                arguments + " >" + output + " 2>&1 </dev/null";
    const int status = std::system(command.c_str());
    said = content_of_file(output);
    unlink(output.c_str());
    return WIFEXITED(status) ? WEXITSTATUS(status) : -1;
}

}  // namespace breakstep::harm
