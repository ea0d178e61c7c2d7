#include "hall/engine/capture.hpp"

#include <utility>

#include "core/journal/codec.hpp"
#include "core/journal/visiting.hpp"

namespace breakstep {
namespace {

// Kind numbers of the file; an InputCall's own kinds follow from input_base on, a session's start first.
constexpr std::uint16_t settings_kind = 100;
constexpr std::uint16_t input_base = capture_start_kind;
static_assert(std::is_same_v<std::variant_alternative_t<0, EngineInput>, StartSession>);

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
        bool has_known = link.known.has_value();
        KnownRig known = link.known.value_or(KnownRig{});
        archive.added(has_known, known.board, known.boot, known.through);
        if (has_known) link.known = known;
        archive.added(settings.devices.partner_screen);
        archive.added(settings.devices.loud_hall, settings.devices.words);
    }
};

/// A journal record as the store would keep it.
struct KeptRecord {
    std::int64_t position = 0;
    HostTime recorded;
    std::uint16_t kind = 0;
    std::string bytes;

    KeptRecord() = default;
    explicit KeptRecord(const JournalRecord& record)
        : position(record.position), recorded(record.recorded), kind(kind_of(record.event)) {
        encode(record.event, bytes);
    }
    [[nodiscard]] std::optional<JournalRecord> whole() const {
        auto event = decode(kind, bytes);
        if (!event) return std::nullopt;
        return JournalRecord{position, recorded, std::move(*event)};
    }
    template <class Archive>
    void fields(Archive& archive) {
        archive(position, recorded, kind, bytes);
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
        if (auto* resume = std::get_if<ResumeSession>(&input)) archive(resume->session);
        if (auto* voided = std::get_if<VoidRep>(&input)) archive(voided->session, voided->rep, voided->reason);
        if (auto* asked = std::get_if<ListForPartner>(&input)) archive(asked->list.after, asked->list.choices);
        if (auto* restore = std::get_if<RestoreSession>(&input)) {
            std::vector<KeptRecord> kept;
            for (const JournalRecord& record : restore->records) kept.emplace_back(record);
            archive(kept);
            restore->records.clear();
            for (const KeptRecord& record : kept)
                if (const auto whole = record.whole()) restore->records.push_back(*whole);
        }
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

// Some 18 years from zero, either way: no clock of a driver goes so far, and sums of two still fit.
constexpr std::int64_t farthest = std::int64_t{1} << 59U;
bool possible(std::int64_t value) { return value <= farthest && value >= -farthest; }
bool possible(HostTime time) { return possible(time.time_since_epoch().count()); }
bool possible(Duration time) { return possible(time.count()); }
bool possible(AudioFrame frame) { return possible(static_cast<std::int64_t>(frame)); }

// What a session that is restored says of itself is taken by conduct without a further look.
bool possible(const RestoreSession& restored) {
    constexpr std::int32_t most = 1'000'000;
    for (const JournalRecord& record : restored.records) {
        if (const auto* began = std::get_if<SessionBegan>(&record.event); began != nullptr && !in_range(began->drill))
            return false;
        const auto* at = std::get_if<SessionSuspended>(&record.event);
        if (at == nullptr) continue;
        const bool counts = at->set >= 0 && at->set <= most && at->attempt >= 0 && at->attempt <= most &&
                            at->next_rep >= 0 && at->next_rep <= most;
        if (!counts || !(at->pace > 0.1 && at->pace < 10)) return false;
    }
    return true;
}

bool possible(const EngineInput& input) {
    if (const auto* restored = std::get_if<RestoreSession>(&input)) return possible(*restored);
    const auto* start = std::get_if<StartSession>(&input);
    return start == nullptr || in_range(start->session.drill);
}

/// What a driver could have called.
bool possible(const EngineCall& call) {
    return std::visit(Overloaded{[](const OneOf<PortCall, DueCall> auto& known) { return possible(known.now); },
                                 [](const BytesCall& bytes) { return possible(bytes.arrived); },
                                 [](const SentCall& sent) { return possible(sent.at); },
                                 [](const CommittedCall& safe) { return possible(safe.now); },
                                 [](const OnsetCall& onset) { return possible(onset.now) && possible(onset.frame); },
                                 [](const ShownCall& shown) { return possible(shown.now) && possible(shown.shown_at); },
                                 [](const AudioBlockCall& block) {
                                     return possible(block.now) && possible(block.asked_at) && possible(block.first);
                                 },
                                 [](const InputCall& input) { return possible(input.now) && possible(input.input); }},
                      call);
}

bool usable(const EngineSettings& settings) {
    const LinkSettings& link = settings.link;
    constexpr Duration longest = std::chrono::hours(1);
    for (const Duration period : {link.hello_period, link.burst_period, link.ping_period, link.silence, link.cue_bound,
                                  link.order_repeat, link.resend_repeat})
        if (period <= Duration{} || period > longest) return false;
    for (const auto& delay : {settings.sound_delay, settings.screen_delay})
        if (delay && (!possible(delay->delay) || !possible(delay->spread))) return false;
    return link.byte_time >= Duration{} && link.byte_time <= longest && link.burst_pings >= 0;
}

}  // namespace

Expected<CaptureWriter> CaptureWriter::create(const std::filesystem::path& path, const EngineSettings& settings) {
    auto file = NewCaptureFile::create(path);
    if (!file) return tl::make_unexpected(file.error());
    CaptureWriter writer(std::move(*file));
    SettingsRecord record{settings};
    writer.put_record(settings_kind, record);
    return writer;
}

template <class Value>
void CaptureWriter::put_record(std::uint16_t kind, Value& value) {
    scratch_.clear();
    ByteWriter body(scratch_);
    body(value);
    file_.put(kind, scratch_);
}

void CaptureWriter::write(const EngineCall& call) {
    if (const auto* input = std::get_if<InputCall>(&call)) {
        TimedInput timed{{input->input}, input->now};
        const auto kind = static_cast<std::uint16_t>(input_base + input->input.index());
        put_record(kind, timed);
        return;
    }
    std::visit(
        [&](const auto& known) {
            if constexpr (!std::is_same_v<std::remove_cvref_t<decltype(known)>, InputCall>)
                put_record(static_cast<std::uint16_t>(call.index()), known);
        },
        call);
}

Expected<void> read_capture(const std::filesystem::path& path, const std::function<void(const EngineSettings&)>& begin,
                            const std::function<void(const EngineCall&)>& each) {
    bool begun = false;
    return read_capture_file(path, [&](std::uint16_t kind, std::string_view bytes) {
        if (begun) {
            EngineCall call;
            if (!read_call(kind, bytes, call) || !possible(call)) return false;
            each(call);
            return true;
        }
        begun = true;
        SettingsRecord settings;
        ByteReader reader(bytes);
        reader(settings);
        if (kind != settings_kind || !reader.good() || !usable(settings.settings)) return false;
        begin(settings.settings);
        return true;
    });
}

}  // namespace breakstep
