// The score fold: reads the journal and nothing else, and says what each rep was worth and what the athlete's rhythm
// gives away. The same journal gives the same results to the bit; live and rescoring run this same code.
//
// One Score a session, owned by the engine (live) or by rescore; one thread at a time; no clock, no randomness, no I/O.
// Bounded memory: a rep's contacts are dropped 300 ms after its close.
#pragma once

#include <concepts>
#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <type_traits>
#include <variant>
#include <vector>

#include "core/journal/events.hpp"

namespace breakstep {

/// Of a rep in which the athlete set a beat and broke it.
struct LureRead {
    bool played = false;                   ///< it was such a rep
    std::int32_t windows = 0, caught = 0;  ///< of the steps in before it: announced, met
    double wealth = 1;
    bool readable = false;          ///< the opponent had a beat to follow
    std::optional<Duration> ahead;  ///< how long before the expected step in the athlete came; below 0: after it
    bool broken = false;            ///< before the announced window
    bool operator==(const LureRead&) const = default;
};

/// What a rep was worth. Times in ns; null where there is none.
struct RepResult {
    RepId rep{};
    std::int32_t set = 0, number = 0;
    AttackChoice asked;  ///< kind, moment, counter, pads
    bool catch_trial = false;
    Side opponent_lead{};
    StartKind start{};
    Verdict verdict{};
    VoidReason void_reason = VoidReason::none;
    bool scored = false;         ///< in the denominator: false for void, feint, catch trial
    std::optional<Phase> phase;  ///< the true phase of the first contact; guard also before and after the attack
    std::optional<PadRole> pad;  ///< of the first contact
    std::uint16_t peak = 0;
    std::optional<Duration>
        latency;  ///< from the asked moment's start (around: from the start of the held up) to contact
    Uncertainty uncertainty = unknown_uncertainty;  ///< of the latency
    std::optional<Duration>
        commit;  ///< last near-mark break of the rep before contact, on latency's axis; null also if already in
    bool already_in = false;        ///< contact without a near-mark break in the rep
    std::optional<Duration> error;  ///< contact minus the middle of the asked window
    bool drawn = false;             ///< a commit alone on a feint: held, but the feint drew the athlete in
    bool contacted = false;         ///< struck from onset - lead to close: counts for picked or guessed
    bool retreated = false;         ///< answered by leaving the far mark without a strike
    OnsetSource source{};
    std::vector<Duration> later_contacts;  ///< from toe-off, shown on the strip; of a void rep every contact
    std::optional<Duration> contact_from_onset, commit_from_onset;  ///< from toe-off, for the strip
    std::vector<AttackPhase> phases;                                ///< with confirmed lengths, for the strip
    bool telegraphed = false;  ///< the opponent leaned before it; of a catch trial or a feint: that was a lie
    /// A partner's rep.
    std::optional<CameKind> came;              ///< what the leg did; null: no partner's rep
    Impossible impossible = Impossible::none;  ///< why it can't be
    bool told = false;                         ///< the partner was told what to do: `asked` was asked of them too
    std::vector<Uncertainty> border_bounds;    ///< beside `phases`, and the end: of each border, by its gate
    std::optional<Duration> cue_to_toe_off;    ///< from the partner's cue; below 0: they went before it
    Uncertainty cue_uncertainty = unknown_uncertainty;
    double window = 1;             ///< the level: share of the asked moment that was on time
    bool counts = false;           ///< chosen beforehand to count for a rung
    std::optional<bool> rung_hit;  ///< what a rung takes for done; null: as the verdict says
    DrewBy drew_by{};              ///< what drew it
    std::optional<Duration> draw_to_toe_off;
    std::optional<bool> out_in_time;  ///< out of reach so soon after contact as was asked; null: not asked, no contact
    std::optional<bool> off_line;     ///< off the attack line at contact; null: not known
    std::optional<bool> followed_up;  ///< the second strike that was asked for; null: none was, no contact
    std::optional<Verdict> called;    ///< what the athlete called it: early, on time or late
    LureRead lure;
    Zone stood{};           ///< at toe-off; of a catch trial unknown
    std::uint8_t gave = 0;  ///< marks left outward from the act that drew it, else from toe-off, to contact: none,
                            ///< far, back
    AtEdge at_edge{};       ///< whether a partner attacked from the end of their room
    std::optional<Duration>
        edge_to_contact;  ///< from the partner's back mark to contact; null: not led there, or not struck
    bool operator==(const RepResult&) const = default;
};

/// Where the axis of a rep's latency, commit and later contacts has its zero, from toe-off (a catch trial's: from where
/// its wait began): the asked moment's start; toe-off itself where nothing was measured.
[[nodiscard]] Duration axis_zero(const RepResult& rep);

/// "You can be timed", raised by the entry that tipped it, or "you can be read", by the answer that did.
struct SignRaised {
    Sign sign{};
    TargetTime at;
    std::string
        cause;  ///< "one beat", "favourite beat", "long-short", "three-beat", "pattern", "after two retreats", ...
    std::string reason;  ///< in a coach's words: "same beat: 0.82 s, six times"
    double wealth = 1;
    std::vector<Duration> last_intervals;  ///< of a tempo, up to six, oldest first: the nudge's bars
    SignKind kind = SignKind::timed;       ///< the plain method raises `timed` alone, whatever it read
};

/// One interval of the tempo strip, as it ended.
struct IntervalRead {
    std::int32_t set = 0;  ///< the set that ran, or was about to run
    TargetTime began;
    Duration length{};  ///< to the entry, or to the cue that cut it
    bool cut = false, voided = false;
    std::optional<Duration> window_begin, window_end;  ///< the window announced beforehand, from `began`
    bool caught = false;
    bool counted = false;  ///< among the totals' windows: no attack would have cut this one's window
    bool operator==(const IntervalRead&) const = default;
};

struct ZoneChanged {
    Zone zone{};
    TargetTime at;
};

/// What the athlete did that a drawn attack may answer, and the entries that a hunted one waits for.
enum class Act : std::uint8_t { entry, stop_short, ground_given_twice, ground_given, hand_shown, hand_hidden };
struct ActSeen {
    Act act{};
    TargetTime at;
    std::uint16_t sequence = 0;
    /// At an entry: the window in which the next one is expected, if there is one.
    std::optional<Duration> window_begin, window_end;
    bool follows = false;       ///< of a lure: the beat so far is readable
    bool changed_pace = false;  ///< at an entry: it leaves the beat of the ones before it
};

/// What a rep looks to be worth by its first contact and the borders confirmed so far. Its RepResult, which always
/// follows, replaces it everywhere.
struct FirstWord {
    RepResult rep;
};

using ScoreResult = std::variant<RepResult, SignRaised, IntervalRead, ZoneChanged, ActSeen, FirstWord>;

/// Totals of a session, over its reps so far (a rep that was voided or restored afterwards counts as it is now).
struct SessionTotals {
    std::int32_t reps = 0, scored = 0, on_time = 0, around = 0, clashes = 0, voids = 0;
    std::int32_t attacks = 0, attacks_contacted = 0, feints = 0, feints_taken = 0, catch_trials = 0,
                 catch_trials_struck = 0;
    std::optional<double> on_time_rate;       ///< (on time + around) / scored
    std::optional<double> median_latency_ms;  ///< over scored contacts; null under 20 of them in the session's one cell
    std::optional<double> constant_error_ms, variable_error_ms,
        absolute_error_ms;                                        ///< population form; null without contacts
    std::optional<double> d_prime, d_prime_low, d_prime_high;     ///< picked or guessed; null without attacks or feints
    bool d_prime_at_least_only = false;                           ///< x = n or y = 0: show only "at least d_prime_low"
    std::optional<double> timeable, timeable_low, timeable_high;  ///< 0 .. 100; null when it may not be shown
    std::int32_t windows = 0, caught = 0;
    double caught_by_chance = 0;
    /// Can be timed; by the plain reading method one sign for tempo and choices together (reading_method.hpp).
    double wealth = 1;
    Sign sign = Sign::none;
    std::string sign_reason;
    /// Can be read, by its choices; 1 and none by the plain method.
    double read_wealth = 1;
    Sign read_sign = Sign::none;
    std::string read_reason;
    bool two_signs = false;            ///< the session was read by two signs
    std::optional<double> home_share;  ///< share of time between the marks
    std::int32_t retreats = 0;
    std::int32_t stray_contacts = 0;  ///< contacts outside any rep and its 300 ms
    std::int32_t events_lost = 0;
    std::int32_t unknown_events = 0;       ///< of kinds, or of types of the rig's, that this version does not know
    std::int32_t impossible_events = 0;    ///< of the rig: values out of range, stamps that ran backwards
    std::optional<double> clock_rate_ppm;  ///< the rig's clock against the host's, as last known; null: not known
    std::int32_t misplaced_events = 0;     ///< of another boot, of a rep nobody opened, or with times that can't be
    bool operator==(const SessionTotals&) const = default;
};

/// Every member of a session's totals by its name, listed here alone: the store's columns and the tests go by it.
/// A new member comes last, and is a new column of the store's.
template <class Totals, class Visitor>
requires std::same_as<std::remove_const_t<Totals>, SessionTotals>
void fields(Totals& totals, Visitor&& visitor) {
    visitor("reps", totals.reps);
    visitor("scored", totals.scored);
    visitor("on_time", totals.on_time);
    visitor("around", totals.around);
    visitor("clashes", totals.clashes);
    visitor("voids", totals.voids);
    visitor("attacks", totals.attacks);
    visitor("attacks_contacted", totals.attacks_contacted);
    visitor("feints", totals.feints);
    visitor("feints_taken", totals.feints_taken);
    visitor("catch_trials", totals.catch_trials);
    visitor("catch_trials_struck", totals.catch_trials_struck);
    visitor("on_time_rate", totals.on_time_rate);
    visitor("median_latency_ms", totals.median_latency_ms);
    visitor("constant_error_ms", totals.constant_error_ms);
    visitor("variable_error_ms", totals.variable_error_ms);
    visitor("absolute_error_ms", totals.absolute_error_ms);
    visitor("d_prime", totals.d_prime);
    visitor("d_prime_low", totals.d_prime_low);
    visitor("d_prime_high", totals.d_prime_high);
    visitor("d_prime_at_least_only", totals.d_prime_at_least_only);
    visitor("timeable", totals.timeable);
    visitor("timeable_low", totals.timeable_low);
    visitor("timeable_high", totals.timeable_high);
    visitor("windows", totals.windows);
    visitor("caught", totals.caught);
    visitor("caught_by_chance", totals.caught_by_chance);
    visitor("wealth", totals.wealth);
    visitor("sign", totals.sign);
    visitor("sign_reason", totals.sign_reason);
    visitor("home_share", totals.home_share);
    visitor("retreats", totals.retreats);
    visitor("stray_contacts", totals.stray_contacts);
    visitor("events_lost", totals.events_lost);
    visitor("unknown_events", totals.unknown_events);
    visitor("misplaced_events", totals.misplaced_events);
    visitor("impossible_events", totals.impossible_events);
    visitor("clock_rate_ppm", totals.clock_rate_ppm);
    visitor("read_wealth", totals.read_wealth);
    visitor("read_sign", totals.read_sign);
    visitor("read_reason", totals.read_reason);
    visitor("two_signs", totals.two_signs);
}

/// SessionBegan::rules of a session that begins today.
inline constexpr std::int32_t rules_of_today = 1;

/// Whether what came was to be held back from.
[[nodiscard]] inline bool was_feint(const RepResult& rep) {
    return rep.came ? rep.came == CameKind::feint : rep.asked.kind == AttackKind::feint;
}

/// Did the partner do what they were told? Null where they were told nothing, or the rep is no partner's.
[[nodiscard]] inline std::optional<bool> obeyed(const RepResult& rep) {
    if (!rep.came || !rep.told) return std::nullopt;
    return obeys(rep.asked.kind, *rep.came);
}

namespace reading {
enum class ReadingMethod : std::uint8_t;
}

namespace scoring {
class Exchange;
}

class Score {
  public:
    Score();
    /// Reads the rhythm by this method whatever the session names: for comparing methods on the same journals.
    explicit Score(reading::ReadingMethod instead);
    ~Score();
    Score(Score&&) noexcept;
    Score& operator=(Score&&) noexcept;

    /// Folds one record in; appends what it now knows to `out`. A coach's void or its taking back appends the rep's
    /// RepResult anew, and so does a contact in the 300 ms after its close: a later result of a rep replaces the first.
    void fold(const JournalRecord& record, std::vector<ScoreResult>& out);

    /// Every rep so far as it is now, in order.
    [[nodiscard]] const std::vector<RepResult>& reps() const;
    [[nodiscard]] const std::vector<IntervalRead>& intervals() const;
    [[nodiscard]] SessionTotals totals() const;
    /// How the drill's attacks start.
    [[nodiscard]] StartKind start() const;
    /// Of a free exchange, or the coin drill: who makes whom go. Null in other drills.
    [[nodiscard]] const scoring::Exchange* exchange() const;

  private:
    struct State;
    std::unique_ptr<State> state_;
};

}  // namespace breakstep
