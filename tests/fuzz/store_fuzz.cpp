// The store's reader, and the page reader that rescues: a small store of this version with bytes changed at will (each
// change is a place and a byte, so that an input stays small), or a file of any bytes at all. Nothing crashes or hangs,
// and what is rescued is a whole store.
#include <unistd.h>

#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>

#include "core/journal/codec.hpp"
#include "store/damaged/rescue.hpp"
#include "store/store.hpp"

namespace {

using namespace breakstep;
namespace fs = std::filesystem;

void require(bool holds) {
    if (!holds) std::abort();
}

/// A folder for the life of the program, in memory where there is such a place.
class Folder {
  public:
    Folder() {
        std::error_code ignored;
        const fs::path memory = "/dev/shm";
        std::string name =
            ((fs::is_directory(memory, ignored) ? memory : fs::temp_directory_path()) / "breakstep-fuzz-XXXXXX")
                .string();
        require(::mkdtemp(name.data()) != nullptr);
        path_ = name;
    }
    ~Folder() {
        std::error_code ignored;
        fs::remove_all(path_, ignored);
    }
    Folder(const Folder&) = delete;
    Folder& operator=(const Folder&) = delete;
    [[nodiscard]] fs::path operator/(const char* name) const { return path_ / name; }
    void clear() const {
        for (const auto& entry : fs::directory_iterator(path_)) fs::remove(entry.path());
    }

  private:
    fs::path path_;
};

const Folder& folder() {
    static const Folder made;
    return made;
}

std::string whole_store() {
    const fs::path path = folder() / "whole.db";
    {
        StoreOptions options;
        options.mode = StoreMode::inline_writes;
        auto store = Store::open(path, options);
        require(store.has_value());
        Athlete athlete;
        athlete.id = AthleteId{7};
        athlete.call_sign = "Teal";
        require((*store)->add_athlete(athlete).has_value());
        SessionBegan began;
        began.session = SessionId{5};
        began.athlete = athlete.id;
        began.drill.name = began.drill.title = "any";
        began.drill.attacks.push_back({});
        std::vector<JournalRecord> records{{0, HostTime{}, began}};
        for (std::int64_t i = 1; i < 60; ++i)
            records.push_back(
                {i, HostTime{Duration{i}},
                 PadHit{TargetTime(BootId{3}, Duration{i * 1000}), static_cast<std::uint16_t>(i), {}, 9, 0}});
        records.push_back({60, HostTime{}, SessionEnded{SessionEnd::finished}});
        (*store)->append(began.session, records);
        RepResult rep;
        rep.phases = {{Phase::lift, false, Duration{1000}}};
        (*store)->keep(began.session, rep);
        (*store)->keep_totals(began.session, {});
        require((*store)->close().has_value());
    }
    std::ifstream file(path, std::ios::binary);
    return {std::istreambuf_iterator<char>(file), {}};
}

void read_all(const fs::path& path) {
    StoreOptions options;
    options.mode = StoreMode::read_only;
    const auto store = Store::open(path, options);
    if (!store) return;
    (void)(*store)->check();
    (void)(*store)->athletes();
    (void)(*store)->measures();
    (void)(*store)->calibrations();
    (void)(*store)->term_sessions();
    (void)(*store)->read_rep_facts([](std::int64_t, const progress::RepFact&) {});
    const auto sessions = (*store)->sessions();
    if (!sessions) return;
    for (const SessionSummary& session : *sessions) {
        (void)(*store)->read_records(session.id, [](const JournalRecord&) {});
        (void)(*store)->reps(session.id);
        (void)(*store)->totals(session.id);
    }
}

void rescue(const fs::path& path) {
    const fs::path fresh = folder() / "fresh.db";
    if (!rescue_store(path, fresh, 1'700'000'000)) return require(!fs::exists(fresh));
    StoreOptions options;
    options.mode = StoreMode::read_only;
    const auto store = Store::open(fresh, options);
    require(store.has_value() && (*store)->check().has_value());
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    static const std::string whole = whole_store();
    if (size == 0) return 0;
    std::string bytes;
    if (data[0] % 4 == 0) {
        bytes.assign(reinterpret_cast<const char*>(data) + 1, size - 1);
    } else {
        bytes = whole;
        for (std::size_t at = 1; at + 4 <= size; at += 4) {
            const std::size_t place = (data[at] | data[at + 1] << 8U | data[at + 2] << 16U) % bytes.size();
            bytes[place] = static_cast<char>(data[at + 3]);
        }
        if (data[0] % 4 == 3) bytes.resize(bytes.size() * data[0] / 255);
    }
    folder().clear();
    const fs::path path = folder() / "any.db";
    std::ofstream(path, std::ios::binary) << bytes;
    read_all(path);
    rescue(path);
    return 0;
}
