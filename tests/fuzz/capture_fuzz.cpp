// A capture of any bytes, played through the engine as `replay` does it. Nothing crashes, and every session that comes
// out has positions without holes. The first byte chooses whether the rest is the file itself, or the calls of a
// capture whose first line and settings are whole, so that the engine is reached.
#include <sys/mman.h>
#include <unistd.h>

#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <optional>
#include <sstream>
#include <string>

#include "core/journal/codec.hpp"
#include "hall/engine/capture.hpp"

namespace {

using namespace breakstep;

void require(bool holds) {
    if (!holds) std::abort();
}

void play(const std::string& bytes) {
    // A file in memory: captures are read from files alone.
    const int file = ::memfd_create("capture", MFD_CLOEXEC);
    require(file >= 0 && ::write(file, bytes.data(), bytes.size()) == static_cast<ssize_t>(bytes.size()));
    std::optional<Engine> engine;
    EngineOutput out;
    std::int64_t position = 0;
    const auto read = read_capture(
        "/proc/self/fd/" + std::to_string(file), [&](const EngineSettings& settings) { engine.emplace(settings); },
        [&](const EngineCall& call) {
            apply(*engine, call);
            out.clear();
            engine->drain(out);
            for (const JournalRecord& record : out.records) {
                if (std::holds_alternative<SessionBegan>(record.event)) position = 0;
                require(record.position == position++);
            }
        });
    ::close(file);
    if (!read) require(!read.error().text().empty());
}

/// How every capture with plain settings begins.
std::string beginning() {
    std::string folder = (std::filesystem::temp_directory_path() / "breakstep-fuzz-XXXXXX").string();
    require(::mkdtemp(folder.data()) != nullptr);
    const std::filesystem::path path = std::filesystem::path(folder) / "empty.capture";
    auto writer = CaptureWriter::create(path, EngineSettings{});
    require(writer.has_value() && writer->close().has_value());
    std::ifstream file(path, std::ios::binary);
    std::string bytes{std::istreambuf_iterator<char>(file), {}};
    std::filesystem::remove_all(folder);
    return bytes;
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    static const std::string begun = beginning();
    if (size == 0) return 0;
    const std::string rest(reinterpret_cast<const char*>(data) + 1, size - 1);
    play(data[0] % 2 == 0 ? rest : begun + rest);
    return 0;
}
