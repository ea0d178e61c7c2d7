// A capture: every call that a driver made to the engine, in order, with its arguments, and the settings and seed it
// started from. Played back it gives the identical journal; that is how a live run is proved equal to a fast one, and
// how a fault in the hall is brought home.
//
// EngineCall is a plain value. CaptureWriter is owned by the driver, on its thread; it writes through a buffer and says
// in close() whether all of it reached the file. The file: a line of text naming the version, the settings, then
// (kind, size, bytes) per call.
#pragma once

#include <cstdint>
#include <filesystem>
#include <functional>
#include <string>
#include <variant>
#include <vector>

#include "core/error.hpp"
#include "hall/engine/engine.hpp"

namespace breakstep {

struct PortCall {
    bool open = false;
    HostTime now;
    template <class Archive>
    void fields(Archive& archive) {
        archive(open, now);
    }
};
struct BytesCall {
    HostTime arrived;
    std::string received;
    template <class Archive>
    void fields(Archive& archive) {
        archive(arrived, received);
    }
};
struct DueCall {
    HostTime now;
    template <class Archive>
    void fields(Archive& archive) {
        archive(now);
    }
};
struct SentCall {
    FrameId frame{};
    HostTime at;
    template <class Archive>
    void fields(Archive& archive) {
        archive(frame, at);
    }
};
struct CommittedCall {
    SessionId session{};
    std::int64_t position = 0;
    HostTime now;
    template <class Archive>
    void fields(Archive& archive) {
        archive(session, position, now);
    }
};
struct OnsetCall {
    std::uint64_t sound = 0;
    AudioFrame frame{};
    bool late = false;
    HostTime now;
    template <class Archive>
    void fields(Archive& archive) {
        archive(sound, frame, late, now);
    }
};
struct ShownCall {
    RepId rep{};
    std::int32_t index = 0;
    HostTime shown_at;
    std::int64_t frame = 0;
    HostTime now;
    template <class Archive>
    void fields(Archive& archive) {
        archive(rep, index, shown_at, frame, now);
    }
};
struct AudioBlockCall {
    AudioFrame first{};
    std::int32_t frames = 0;
    HostTime asked_at, now;
    template <class Archive>
    void fields(Archive& archive) {
        archive(first, frames, asked_at, now);
    }
};
struct InputCall {
    EngineInput input;
    HostTime now;
};

using EngineCall = std::variant<PortCall, BytesCall, DueCall, SentCall, CommittedCall, OnsetCall, ShownCall,
                                AudioBlockCall, InputCall>;

void apply(Engine& engine, const EngineCall& call);

class CaptureWriter {
  public:
    /// Makes the file, its owner's alone. Fails (bad_input) if it is there already, else as making a file does.
    [[nodiscard]] static Expected<CaptureWriter> create(const std::filesystem::path& path,
                                                        const EngineSettings& settings);
    ~CaptureWriter();
    CaptureWriter(CaptureWriter&& other) noexcept;
    CaptureWriter& operator=(CaptureWriter&&) = delete;
    CaptureWriter(const CaptureWriter&) = delete;
    CaptureWriter& operator=(const CaptureWriter&) = delete;
    void write(const EngineCall& call);
    /// Fails if not all of it could be written.
    [[nodiscard]] Expected<void> close();

  private:
    CaptureWriter(std::filesystem::path path, int descriptor) : path_(std::move(path)), descriptor_(descriptor) {}
    template <class Value>
    void put_record(std::uint16_t kind, Value& value);
    void write_waiting();
    std::filesystem::path path_;
    int descriptor_;
    std::string scratch_, waiting_;
    std::optional<Error> failed_;
};

/// Reads a capture call by call: first the settings, then each call in order. Fails: not_found, bad_input (a folder, a
/// device), incompatible, damaged (a capture that was cut off, or a call that no driver makes; it gives every whole
/// call first), system (the disk fails).
[[nodiscard]] Expected<void> read_capture(const std::filesystem::path& path,
                                          const std::function<void(const EngineSettings&)>& begin,
                                          const std::function<void(const EngineCall&)>& each);

}  // namespace breakstep
