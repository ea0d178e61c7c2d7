// Captures that nobody wrote: folders, devices, damaged bytes, calls that no driver makes.
#include <unistd.h>

#include <doctest/doctest.h>

#include "support/fast_run.hpp"

using namespace breakstep;

namespace {

Error refusal(const std::filesystem::path& path) {
    int calls = 0;
    const auto read = read_capture(
        path, [&](const EngineSettings&) { ++calls; }, [&](const EngineCall&) { ++calls; });
    REQUIRE_FALSE(read.has_value());
    CHECK(calls == 0);
    return read.error();
}

std::string written(const std::vector<EngineCall>& calls) {
    const auto folder = std::filesystem::temp_directory_path() / "breakstep_captures_test";
    std::filesystem::remove_all(folder);
    std::filesystem::create_directory(folder);
    const auto path = folder / "some.capture";
    auto capture = CaptureWriter::create(path, EngineSettings{});
    REQUIRE(capture.has_value());
    for (const EngineCall& call : calls) capture->write(call);
    REQUIRE(capture->close().has_value());
    std::ifstream file(path, std::ios::binary);
    std::string bytes{std::istreambuf_iterator<char>(file), {}};
    std::filesystem::remove_all(folder);
    return bytes;
}

/// How many calls are given, and whether the end was reached.
std::pair<int, bool> read_of(const std::string& bytes) {
    const auto path = std::filesystem::temp_directory_path() / ("breakstep_captures_test_" + std::to_string(getpid()));
    std::ofstream(path, std::ios::binary) << bytes;
    std::optional<Engine> engine;
    int calls = 0;
    const auto read = read_capture(
        path, [&](const EngineSettings& settings) { engine.emplace(settings); },
        [&](const EngineCall& call) {
            ++calls;
            apply(*engine, call);
        });
    std::filesystem::remove(path);
    return {calls, read.has_value()};
}

InputCall start_of(const Drill& drill) {
    SessionBegan session;
    session.session = SessionId{1};
    session.drill = drill;
    return InputCall{StartSession{session}, HostTime{}};
}

}  // namespace

TEST_CASE("folders and endless devices are refused as captures at once") {
    CHECK(refusal("/").kind == ErrorKind::bad_input);
    CHECK(refusal("/dev/zero").kind == ErrorKind::bad_input);
    CHECK(refusal("/dev/full").kind == ErrorKind::bad_input);
    CHECK(refusal("/nowhere/none.capture").kind == ErrorKind::not_found);
}

TEST_CASE("a size that is damage asks for no memory") {
    std::string bytes = written({DueCall{}});
    bytes += std::string("\x02\x00\xff\xff\xff\x7f", 6);
    CHECK(read_of(bytes) == std::pair(1, false));
}

TEST_CASE("calls that no driver makes end the capture there") {
    CHECK(read_of(written({DueCall{}, start_of(small_drill()), start_of(small_drill()), DueCall{}})) ==
          std::pair(4, true));
    CHECK(read_of(written({DueCall{}, DueCall{HostTime::max()}})) == std::pair(1, false));
    CHECK(read_of(written({BytesCall{HostTime::min(), "x"}})) == std::pair(0, false));
    CHECK(read_of(written({AudioBlockCall{AudioFrame{-1LL << 62}, 256, {}, {}}})) == std::pair(0, false));
    Drill drill = small_drill();
    drill.attacks.clear();
    CHECK(read_of(written({start_of(drill)})) == std::pair(0, false));
    drill = small_drill();
    drill.wait_cap = drill.wait_minimum;  // every wait would be a catch trial, without end
    CHECK(read_of(written({start_of(drill)})) == std::pair(0, false));
    drill = small_drill();
    drill.opponent.lift.longest = Duration::max();
    CHECK(read_of(written({start_of(drill)})) == std::pair(0, false));
}
