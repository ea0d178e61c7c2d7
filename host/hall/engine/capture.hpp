// A capture: every call that a driver made to the engine, in order, with its arguments, and the settings and seed it
// started from. Played back it gives the identical journal; that is how a live run is proved equal to a fast one, and
// how a fault in the hall is brought home.
//
// CaptureWriter is owned by the driver, on its thread; it writes through a buffer and says in close() whether all of it
// reached the file. How the file is laid out: store/capture_file.hpp.
#pragma once

#include <filesystem>
#include <functional>
#include <string>

#include "core/error.hpp"
#include "hall/engine/engine_call.hpp"
#include "store/capture_file.hpp"

namespace breakstep {

class CaptureWriter {
  public:
    /// Makes the file, its owner's alone. Fails (bad_input) if it is there already, else as making a file does.
    [[nodiscard]] static Expected<CaptureWriter> create(const std::filesystem::path& path,
                                                        const EngineSettings& settings);
    void write(const EngineCall& call);
    /// Fails if not all of it could be written.
    [[nodiscard]] Expected<void> close() { return file_.close(); }

  private:
    explicit CaptureWriter(NewCaptureFile file) : file_(std::move(file)) {}
    template <class Value>
    void put_record(std::uint16_t kind, Value& value);
    NewCaptureFile file_;
    std::string scratch_;
};

/// Reads a capture call by call: first the settings, then each call in order. Fails: not_found, bad_input (a folder, a
/// device), incompatible, damaged (a capture that was cut off, or a call that no driver makes; it gives every whole
/// call first), system (the disk fails).
[[nodiscard]] Expected<void> read_capture(const std::filesystem::path& path,
                                          const std::function<void(const EngineSettings&)>& begin,
                                          const std::function<void(const EngineCall&)>& each);

}  // namespace breakstep
