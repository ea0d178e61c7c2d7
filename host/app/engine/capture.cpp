#include "app/engine/capture.hpp"

#include <iterator>

#include "core/codec.hpp"

namespace breakstep {
namespace {

constexpr std::string_view first_line = "breakstep capture 2\n";

// Kind numbers of the file; an InputCall's own kinds follow from input_base on.
constexpr std::uint16_t settings_kind = 100;
constexpr std::uint16_t input_base = 50;

// EngineSettings with its optionals laid flat.
struct SettingsRecord {
    EngineSettings settings;

    template <class Archive>
    void fields(Archive& archive) {
        LinkSettings& link = settings.link;
        archive(link.hello_period, link.burst_period, link.burst_pings, link.ping_period, link.byte_time, link.silence,
                link.cue_bound, link.order_repeat, link.resend_repeat, link.slow_latency_timer, link.pads_needed);
        bool has_board = link.board.has_value(), has_sound = settings.sound_delay.has_value(),
             has_screen = settings.screen_delay.has_value();
        BoardId board = link.board.value_or(BoardId{});
        CueDelay sound = settings.sound_delay.value_or(CueDelay{}), screen = settings.screen_delay.value_or(CueDelay{});
        archive(has_board, board, has_sound, sound.delay, sound.spread, has_screen, screen.delay, screen.spread);
        if (has_board) link.board = board;
        if (has_sound) settings.sound_delay = sound;
        if (has_screen) settings.screen_delay = screen;
        archive(settings.seed, settings.devices.sound, settings.devices.screen);
    }
};

struct InputRecord {
    EngineInput input;

    template <class Archive>
    void fields(Archive& archive) {
        if (auto* start = std::get_if<StartSession>(&input)) archive(start->session);
        if (auto* coach = std::get_if<Coach>(&input)) archive(coach->input);
        if (auto* toggle = std::get_if<ToggleVoid>(&input)) archive(toggle->rep);
        if (auto* levels = std::get_if<SwitchLevels>(&input)) archive(levels->on);
        if (auto* change = std::get_if<ChangeSetting>(&input)) archive(change->key, change->index, change->value);
        if (auto* ask = std::get_if<AskSetting>(&input)) archive(ask->key, ask->index);
    }
};

struct TimedInput {
    InputRecord record;
    HostTime now;

    template <class Archive>
    void fields(Archive& archive) {
        archive(record, now);
    }
};

template <class Variant, std::size_t Index = 0>
bool emplace_alternative(Variant& variant, std::size_t wanted) {
    if constexpr (Index == std::variant_size_v<Variant>) {
        return false;
    } else {
        if (Index != wanted) return emplace_alternative<Variant, Index + 1>(variant, wanted);
        variant.template emplace<Index>();
        return true;
    }
}

template <class Value>
void put_record(std::uint16_t kind, Value& value, std::string& scratch, std::ofstream& file) {
    scratch.clear();
    ByteWriter body(scratch);
    body(value);
    std::string head;
    ByteWriter header(head);
    header(kind, static_cast<std::uint32_t>(scratch.size()));
    file.write(head.data(), static_cast<std::streamsize>(head.size()));
    file.write(scratch.data(), static_cast<std::streamsize>(scratch.size()));
}

bool read_call(std::uint16_t kind, std::string_view bytes, EngineCall& call) {
    ByteReader reader(bytes);
    if (kind >= input_base && kind < settings_kind) {
        TimedInput timed;
        if (!emplace_alternative(timed.record.input, kind - input_base)) return false;
        reader(timed);
        call = InputCall{timed.record.input, timed.now};
        return reader.good();
    }
    if (kind >= std::variant_size_v<EngineCall> - 1 || !emplace_alternative(call, kind)) return false;
    std::visit(
        [&reader](auto& known) {
            if constexpr (!std::is_same_v<std::remove_cvref_t<decltype(known)>, InputCall>) reader(known);
        },
        call);
    return reader.good();
}

}  // namespace

void apply(Engine& engine, const EngineCall& call) {
    if (const auto* bytes = std::get_if<BytesCall>(&call)) {
        engine.bytes(bytes->arrived,
                     {reinterpret_cast<const std::uint8_t*>(bytes->received.data()), bytes->received.size()});
    } else if (const auto* due = std::get_if<DueCall>(&call)) {
        engine.due(due->now);
    } else if (const auto* sent = std::get_if<SentCall>(&call)) {
        engine.sent(sent->frame, sent->at);
    } else if (const auto* committed = std::get_if<CommittedCall>(&call)) {
        engine.committed(committed->session, committed->position, committed->now);
    } else if (const auto* onset = std::get_if<OnsetCall>(&call)) {
        engine.onset(onset->sound, onset->frame, onset->late, onset->now);
    } else if (const auto* shown = std::get_if<ShownCall>(&call)) {
        engine.shown(shown->rep, shown->index, shown->shown_at, shown->frame, shown->now);
    } else if (const auto* block = std::get_if<AudioBlockCall>(&call)) {
        engine.audio_block(block->first, block->frames, block->asked_at, block->now);
    } else if (const auto* port = std::get_if<PortCall>(&call)) {
        engine.port(port->open, port->now);
    } else if (const auto* input = std::get_if<InputCall>(&call)) {
        engine.input(input->input, input->now);
    }
}

Expected<CaptureWriter> CaptureWriter::create(const std::filesystem::path& path, const EngineSettings& settings) {
    std::ofstream file(path, std::ios::binary | std::ios::trunc);
    if (!file)
        return failure(ErrorKind::system, "the capture " + path.string() + " can't be written",
                       "choose a folder that exists and that you may write to");
    file << first_line;
    CaptureWriter writer(path, std::move(file));
    SettingsRecord record{settings};
    put_record(settings_kind, record, writer.scratch_, writer.file_);
    return writer;
}

void CaptureWriter::write(const EngineCall& call) {
    if (const auto* input = std::get_if<InputCall>(&call)) {
        TimedInput timed{{input->input}, input->now};
        const auto kind = static_cast<std::uint16_t>(input_base + input->input.index());
        put_record(kind, timed, scratch_, file_);
        return;
    }
    std::visit(
        [&](const auto& known) {
            if constexpr (!std::is_same_v<std::remove_cvref_t<decltype(known)>, InputCall>)
                put_record(static_cast<std::uint16_t>(call.index()), known, scratch_, file_);
        },
        call);
}

Expected<void> CaptureWriter::close() {
    file_.close();
    if (file_) return {};
    return failure(ErrorKind::no_space, "not all of the capture " + path_.string() + " could be written",
                   "make room on the disk; the session itself is in the store");
}

Expected<void> read_capture(const std::filesystem::path& path, const std::function<void(const EngineSettings&)>& begin,
                            const std::function<void(const EngineCall&)>& each) {
    std::ifstream file(path, std::ios::binary);
    if (!file) return failure(ErrorKind::not_found, "there is no capture " + path.string(), "check its name");
    const std::string all((std::istreambuf_iterator<char>(file)), {});
    std::string_view rest = all;
    if (!rest.starts_with(first_line))
        return failure(ErrorKind::incompatible, path.string() + " is no capture of this version",
                       "take a file that drill --capture has written");
    rest.remove_prefix(first_line.size());
    constexpr std::size_t header_size = sizeof(std::uint16_t) + sizeof(std::uint32_t);
    bool begun = false;
    while (!rest.empty()) {
        std::uint16_t kind = 0;
        std::uint32_t size = 0;
        ByteReader header(rest);
        header(kind, size);
        const auto damaged = [&] {
            return failure(ErrorKind::damaged, "the capture " + path.string() + " is damaged or cut off",
                           "everything before the damage was played");
        };
        if (!header.good() || rest.size() - header_size < size) return damaged();
        const std::string_view bytes = rest.substr(header_size, size);
        rest.remove_prefix(header_size + size);
        if (!begun) {
            SettingsRecord record;
            ByteReader reader(bytes);
            reader(record);
            if (kind != settings_kind || !reader.good()) return damaged();
            begin(record.settings);
            begun = true;
            continue;
        }
        EngineCall call;
        if (!read_call(kind, bytes, call)) return damaged();
        each(call);
    }
    return {};
}

}  // namespace breakstep
