#include "hall/engine/engine_call.hpp"

#include "core/journal/visiting.hpp"

namespace breakstep {

void apply(Engine& engine, const EngineCall& call) {
    std::visit(
        Overloaded{[&](const BytesCall& bytes) {
                       engine.bytes(bytes.arrived, {reinterpret_cast<const std::uint8_t*>(bytes.received.data()),
                                                    bytes.received.size()});
                   },
                   [&](const DueCall& due) { engine.due(due.now); },
                   [&](const SentCall& sent) { engine.sent(sent.frame, sent.at); },
                   [&](const CommittedCall& safe) { engine.committed(safe.session, safe.position, safe.now); },
                   [&](const OnsetCall& onset) { engine.onset(onset.sound, onset.frame, onset.late, onset.now); },
                   [&](const ShownCall& shown) {
                       engine.shown(shown.rep, shown.index, shown.shown_at, shown.frame, shown.now);
                   },
                   [&](const AudioBlockCall& block) {
                       engine.audio_block(block.first, block.frames, block.asked_at, block.now);
                   },
                   [&](const PortCall& port) { engine.port(port.open, port.now); },
                   [&](const InputCall& input) { engine.input(input.input, input.now); }},
        call);
}

}  // namespace breakstep
