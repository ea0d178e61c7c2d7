// What the store's tests share: a folder that goes away, sessions made by a seed, ways to look at a journal.
#pragma once

#include <unistd.h>

#include <cstdlib>
#include <filesystem>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include <doctest/doctest.h>

#include "core/journal/events.hpp"
#include "core/random.hpp"
#include "core/score/score.hpp"
#include "store/store.hpp"

namespace breakstep::testing {

class TemporaryFolder {
  public:
    TemporaryFolder() {
        std::string name = (std::filesystem::temp_directory_path() / "breakstep-store-XXXXXX").string();
        REQUIRE(::mkdtemp(name.data()) != nullptr);
        path_ = name;
    }
    ~TemporaryFolder() {
        std::error_code ignored;
        std::filesystem::remove_all(path_, ignored);
    }
    TemporaryFolder(const TemporaryFolder&) = delete;
    TemporaryFolder& operator=(const TemporaryFolder&) = delete;
    [[nodiscard]] std::filesystem::path operator/(const char* name) const { return path_ / name; }
    [[nodiscard]] const std::filesystem::path& path() const { return path_; }

  private:
    std::filesystem::path path_;
};

/// Opens a store or fails the test with the reason.
inline std::unique_ptr<Store> open_store(const std::filesystem::path& path, StoreOptions options = {}) {
    Expected<std::unique_ptr<Store>> store = Store::open(path, std::move(options));
    const std::string why = store ? "" : store.error().text();
    REQUIRE_MESSAGE(store.has_value(), why);
    return std::move(*store);
}

inline StoreOptions inline_options(std::int32_t records = 1) {
    StoreOptions options;
    options.mode = StoreMode::inline_writes;
    options.inline_commit_records = records;
    return options;
}

inline SessionBegan began_event(SessionId session, AthleteId athlete, std::int64_t unix_seconds = 1'700'000'000) {
    SessionBegan began;
    began.session = session;
    began.athlete = athlete;
    began.unix_seconds = unix_seconds;
    began.seed = 0xfedcba9876543210;
    began.athlete_lead = Side::left;
    began.drill.name = "drop-of-a-single-kick";
    began.drill.title = "Drop of a single kick";
    began.drill.stance = Stance::open;
    began.drill.level = Level::beginner;
    began.drill.start = StartKind::pattern;
    began.drill.test = true;
    began.drill.attacks.push_back({});
    return began;
}

/// One event of those that make up most of a journal, by chance.
inline JournalEvent some_event(Random& random) {
    const TargetTime at(BootId{7}, Duration(random.next()));
    const auto sequence = static_cast<std::uint16_t>(random.below(65536));
    switch (random.below(6)) {
        case 0:
            return PadHit{at, sequence, PadRole::low_left, 700, 1};
        case 1:
            return GateEdge{at, sequence, GateRole::far_mark, random.chance(0.5)};
        case 2:
            return LampsSet{at, sequence, 9, 3};
        case 3:
            return PhaseBegan{RepId{3}, 1, Phase::drop, at, 40us, OnsetSource::lamp};
        case 4:
            return RepClosed{RepId{3}, at};
        default:
            return UnknownEvent{900, std::string("newer\0bytes", 11)};
    }
}

/// A session's records from its beginning, `count` of them; the last is its end if `ended`.
inline std::vector<JournalRecord> some_records(SessionId session, std::int64_t count, bool ended = false,
                                               std::uint64_t seed = 1) {
    Random random(seed);
    std::vector<JournalRecord> records;
    for (std::int64_t position = 0; position < count; ++position) {
        JournalRecord& record = records.emplace_back();
        record.position = position;
        record.recorded = HostTime(Duration(position * 1'000'000 + random.below(1000)));
        if (position == 0)
            record.event = began_event(session, AthleteId{42});
        else if (ended && position == count - 1)
            record.event = SessionEnded{SessionEnd::stopped};
        else
            record.event = some_event(random);
    }
    return records;
}

inline std::string bytes_of(const JournalRecord& record) {
    std::string bytes = std::to_string(record.position) + ' ' + std::to_string(kind_of(record.event)) + ' ' +
                        std::to_string(record.recorded.time_since_epoch().count()) + ' ';
    encode(record.event, bytes);
    return bytes;
}
inline std::vector<std::string> bytes_of(const std::vector<JournalRecord>& records) {
    std::vector<std::string> bytes;
    for (const JournalRecord& record : records) bytes.push_back(bytes_of(record));
    return bytes;
}

/// The session's records as they stand in the store.
inline std::vector<JournalRecord> stored_records(const Store& store, SessionId session) {
    std::vector<JournalRecord> records;
    const auto count = store.read_records(session, [&](const JournalRecord& record) { records.push_back(record); });
    const std::string why = count ? "" : count.error().text();
    REQUIRE_MESSAGE(count.has_value(), why);
    CHECK(*count == static_cast<std::int64_t>(records.size()));
    return records;
}

/// A result with every member away from its default.
inline RepResult full_rep(RepId id) {
    RepResult rep;
    rep.rep = id;
    rep.set = 2;
    rep.number = 5;
    rep.asked = {AttackKind::rebound, 3, 7, Moment::gap, Counter::spin, pad_bit(PadRole::low_right)};
    rep.catch_trial = true;
    rep.opponent_lead = Side::right;
    rep.start = StartKind::hunted;
    rep.verdict = Verdict::took_the_feint;
    rep.void_reason = VoidReason::impossible_gates;
    rep.scored = true;
    rep.phase = Phase::pull_back;
    rep.pad = PadRole::high_right;
    rep.peak = 65535;
    rep.latency = -31'234'567ns;
    rep.uncertainty = 401'002ns;
    rep.commit = 123ns;
    rep.already_in = true;
    rep.error = -7ns;
    rep.drawn = true;
    rep.contacted = true;
    rep.retreated = true;
    rep.source = OnsetSource::screen;
    rep.later_contacts = {5ns, 600'000'000ns};
    rep.contact_from_onset = 444ns;
    rep.commit_from_onset = 333ns;
    rep.phases = {{Phase::lift, false, 140ms},
                  {Phase::up, true, 500ms},
                  {Phase::up_or_pull_back, true, 2ns},
                  {Phase::hands, false, 1ns}};
    rep.came = CameKind::second_lift;
    rep.impossible = Impossible::down_above_hip;
    rep.told = true;
    rep.border_bounds = {20us, 21us, unknown_uncertainty, 22us, 23us};
    rep.cue_to_toe_off = -345'678ns;
    rep.cue_uncertainty = 24'001ns;
    rep.window = 0.625;
    rep.counts = true;
    rep.rung_hit = false;
    rep.drew_by = DrewBy::stop_short;
    rep.draw_to_toe_off = 431'007ns;
    rep.out_in_time = true;
    rep.off_line = false;
    rep.followed_up = true;
    rep.called = Verdict::late;
    rep.asked.then_pads = 3;
    rep.asked.then_within = 550ms;
    rep.lure = {true, 6, 5, 9.25, true, -123'456ns, true};
    return rep;
}

/// Gives each member of the totals a value of its own, away from its default.
class AwayFromDefault {
  public:
    explicit AwayFromDefault(std::int32_t n) : next_(n), part_(0.1 * n) {}

    void operator()(std::string_view, std::int32_t& count) { count = next_++; }
    void operator()(std::string_view, double& value) { value = part_ += 1.0 / 3; }
    void operator()(std::string_view, std::optional<double>& value) { value = part_ += 1.0 / 3; }
    void operator()(std::string_view, bool& flag) { flag = true; }
    void operator()(std::string_view, Sign& sign) { sign = Sign::tell; }
    void operator()(std::string_view name, std::string& text) {
        text = std::string(name) + ": same beat: 0.82 s, \"six\" times";
    }

  private:
    std::int32_t next_;
    double part_;
};

/// Totals with every member away from its default; `n` (at least 1) makes them differ.
inline SessionTotals full_totals(std::int32_t n) {
    SessionTotals totals;
    fields(totals, AwayFromDefault(n));
    return totals;
}

}  // namespace breakstep::testing
