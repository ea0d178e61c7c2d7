// Every call that a driver makes to the engine, with its arguments, as a plain value: what a capture is made of, and
// what the same engine is fed with again. Any thread; the engine's own thread to apply().
#pragma once

#include <cstdint>
#include <string>
#include <variant>

#include "core/time.hpp"
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

}  // namespace breakstep
