#include "club/athletes/export_tables.hpp"

#include <fmt/format.h>

#include <array>

#include "club/athletes/naming.hpp"
#include "club/csv/csv.hpp"
#include "club/results/results.hpp"

namespace breakstep {
namespace {

ExportCell text_cell(std::string_view text) { return std::string(text); }
ExportCell whole(std::int64_t number) { return number; }
ExportCell ms(const std::optional<Duration>& duration) {
    if (!duration) return {};
    return static_cast<double>(duration->count()) / 1e6;
}
ExportCell yes_or_no(const std::optional<bool>& value) { return value ? ExportCell(*value) : ExportCell(); }
ExportCell number(const std::optional<double>& value) { return value ? ExportCell(*value) : ExportCell(); }
template <class Enum>
ExportCell words(const std::optional<Enum>& value) {
    return value ? text_cell(word(*value)) : ExportCell();
}

ExportCell ended(const std::optional<SessionEnd>& how) { return text_cell(how ? word(*how) : "cut off"); }

ExportCell later_contacts(const RepResult& rep) {
    std::string list;
    for (const Duration contact : rep.later_contacts)
        list +=
            fmt::format("{}{}", list.empty() ? "" : " ", static_cast<double>((contact - axis_zero(rep)).count()) / 1e6);
    return list;
}

using S = SessionRow;
constexpr std::array session_table{
    ExportColumn<S>{"session", "", "the session's id, 16 hexadecimal digits",
                    [](const S& r) { return text_cell(id_text(r.session.id)); }},
    ExportColumn<S>{"number", "", "its number in this store: what `rescore` takes",
                    [](const S& r) { return whole(r.session.number); }},
    ExportColumn<S>{"athlete", "", "call-sign", [](const S& r) { return text_cell(r.athlete); }},
    ExportColumn<S>{"date", "", "local date, year-month-day",
                    [](const S& r) { return text_cell(local_date(r.session.began_unix_seconds)); }},
    ExportColumn<S>{"began", "s", "since 1970-01-01 UTC",
                    [](const S& r) { return whole(r.session.began_unix_seconds); }},
    ExportColumn<S>{"drill", "", "the drill's name", [](const S& r) { return text_cell(r.session.drill); }},
    ExportColumn<S>{"start", "",
                    "how attacks start: random, pattern, drawn, hunted, tapped, lure, countered, free, coin",
                    [](const S& r) { return text_cell(word(r.session.start)); }},
    ExportColumn<S>{"stance", "", "closed (same side forward) or open",
                    [](const S& r) { return text_cell(word(r.session.stance)); }},
    ExportColumn<S>{"level", "", "of the opponent: beginner, intermediate, advanced",
                    [](const S& r) { return text_cell(word(r.session.level)); }},
    ExportColumn<S>{"test", "", "true: nothing adapts, all but the order is fixed",
                    [](const S& r) { return ExportCell(r.session.test); }},
    ExportColumn<S>{"athlete_lead", "", "the athlete's forward side: left or right",
                    [](const S& r) { return text_cell(word(r.session.athlete_lead)); }},
    ExportColumn<S>{"seed", "", "the same seed plans the same drill",
                    [](const S& r) { return ExportCell(r.session.seed); }},
    ExportColumn<S>{"ended", "", "finished, cancelled, rig gone, stopped, no cue, cut off",
                    [](const S& r) { return ended(r.session.how); }},
    ExportColumn<S>{"rep_count", "", "reps, void ones too", [](const S& r) { return whole(r.session.reps); }},
    ExportColumn<S>{"scored", "", "reps in the denominator: no void, feint, catch trial",
                    [](const S& r) { return whole(r.totals.scored); }},
    ExportColumn<S>{"on_time", "", "scored reps on time", [](const S& r) { return whole(r.totals.on_time); }},
    ExportColumn<S>{"around", "", "scored reps around a held leg", [](const S& r) { return whole(r.totals.around); }},
    ExportColumn<S>{"clashes", "", "strikes into a leg that was up",
                    [](const S& r) { return whole(r.totals.clashes); }},
    ExportColumn<S>{"voids", "", "void reps", [](const S& r) { return whole(r.totals.voids); }},
    ExportColumn<S>{"on_time_rate", "share", "(on_time + around) / scored; empty without scored reps",
                    [](const S& r) { return number(r.totals.on_time_rate); }},
    ExportColumn<S>{"median_latency_ms", "ms", "median latency over scored contacts; empty under 20 of them",
                    [](const S& r) { return number(r.totals.median_latency_ms); }},
    ExportColumn<S>{"constant_error_ms", "ms", "mean error over scored contacts",
                    [](const S& r) { return number(r.totals.constant_error_ms); }},
    ExportColumn<S>{"variable_error_ms", "ms", "steadiness: standard deviation of the error (population form)",
                    [](const S& r) { return number(r.totals.variable_error_ms); }},
    ExportColumn<S>{"absolute_error_ms", "ms", "mean of the error without its sign",
                    [](const S& r) { return number(r.totals.absolute_error_ms); }},
    ExportColumn<S>{"attacks", "", "real attacks", [](const S& r) { return whole(r.totals.attacks); }},
    ExportColumn<S>{"attacks_contacted", "", "real attacks struck at",
                    [](const S& r) { return whole(r.totals.attacks_contacted); }},
    ExportColumn<S>{"feints", "", "feints", [](const S& r) { return whole(r.totals.feints); }},
    ExportColumn<S>{"feints_taken", "", "feints struck at", [](const S& r) { return whole(r.totals.feints_taken); }},
    ExportColumn<S>{"catch_trials", "", "reps in which nothing came",
                    [](const S& r) { return whole(r.totals.catch_trials); }},
    ExportColumn<S>{"catch_trials_struck", "", "of those, struck at",
                    [](const S& r) { return whole(r.totals.catch_trials_struck); }},
    ExportColumn<S>{"d_prime", "", "picked or guessed: z(attacks struck) - z(feints struck)",
                    [](const S& r) { return number(r.totals.d_prime); }},
    ExportColumn<S>{"d_prime_low", "", "its interval's lower end",
                    [](const S& r) { return number(r.totals.d_prime_low); }},
    ExportColumn<S>{"d_prime_high", "", "its interval's upper end",
                    [](const S& r) { return number(r.totals.d_prime_high); }},
    ExportColumn<S>{"can_be_timed", "", "no sign, maybe, yes",
                    [](const S& r) { return text_cell(word(r.totals.sign)); }},
    ExportColumn<S>{"reason", "", "why, in a coach's words",
                    [](const S& r) { return text_cell(r.totals.sign_reason); }},
    ExportColumn<S>{"timeable", "", "0 to 100: how much better than chance the entries could be timed",
                    [](const S& r) { return number(r.totals.timeable); }},
    ExportColumn<S>{"timeable_low", "", "its interval's lower end",
                    [](const S& r) { return number(r.totals.timeable_low); }},
    ExportColumn<S>{"timeable_high", "", "its interval's upper end",
                    [](const S& r) { return number(r.totals.timeable_high); }},
    ExportColumn<S>{"home_share", "share", "of the time between the marks, just out of reach",
                    [](const S& r) { return number(r.totals.home_share); }},
    ExportColumn<S>{"retreats", "", "attacks left without a strike",
                    [](const S& r) { return whole(r.totals.retreats); }},
    ExportColumn<S>{"timed_wealth", "", "what the bet on the rhythm made of 1: 20 is told",
                    [](const S& r) { return number(r.totals.wealth); }},
    ExportColumn<S>{"can_be_read", "", "by what is chosen, and after what: no sign, maybe, yes",
                    [](const S& r) { return text_cell(word(r.totals.read_sign)); }},
    ExportColumn<S>{"read_reason", "", "why, in a coach's words",
                    [](const S& r) { return text_cell(r.totals.read_reason); }},
    ExportColumn<S>{"read_wealth", "", "what the bet on the choices made of 1: 20 is told",
                    [](const S& r) { return number(r.totals.read_wealth); }},
};

using R = RepRow;
constexpr std::size_t about_the_session = 6;
constexpr std::array rep_table{
    ExportColumn<R>{"session", "", "the session's id, 16 hexadecimal digits",
                    [](const R& r) { return text_cell(id_text(r.session.id)); }},
    ExportColumn<R>{"athlete", "", "call-sign", [](const R& r) { return text_cell(r.athlete); }},
    ExportColumn<R>{"date", "", "local date, year-month-day",
                    [](const R& r) { return text_cell(local_date(r.session.began_unix_seconds)); }},
    ExportColumn<R>{"drill", "", "the drill's name", [](const R& r) { return text_cell(r.session.drill); }},
    ExportColumn<R>{"stance", "", "closed (same side forward) or open",
                    [](const R& r) { return text_cell(word(r.session.stance)); }},
    ExportColumn<R>{"level", "", "of the opponent: beginner, intermediate, advanced",
                    [](const R& r) { return text_cell(word(r.session.level)); }},
    ExportColumn<R>{"rep", "", "counted through the session, from 0",
                    [](const R& r) { return whole(static_cast<std::int64_t>(r.rep.rep)); }},
    ExportColumn<R>{"set", "", "counted from 1", [](const R& r) { return whole(r.rep.set + 1); }},
    ExportColumn<R>{"number", "", "the rep's number in its set", [](const R& r) { return whole(r.rep.number); }},
    ExportColumn<R>{"attack", "", "single, rebound, carry, reset, leg-to-hands, feint; nothing in a catch trial",
                    [](const R& r) { return text_cell(r.rep.catch_trial ? "nothing" : word(r.rep.asked.kind)); }},
    ExportColumn<R>{"moment", "", "the moment asked for: lift, gap, drop; \"drop or gap\" where several are right",
                    [](const R& r) { return text_cell(words_of(r.rep.asked.moment, r.rep.asked.moments)); }},
    ExportColumn<R>{"counter", "", "the counter asked for: front-hand, back-hand, front-leg, back-leg, spin",
                    [](const R& r) { return text_cell(word(r.rep.asked.counter)); }},
    ExportColumn<R>{"start", "",
                    "how the attack started: random, pattern, drawn, hunted, tapped, lure, countered, free, coin",
                    [](const R& r) { return text_cell(word(r.rep.start)); }},
    ExportColumn<R>{"opponent_lead", "", "the opponent's forward side: left or right",
                    [](const R& r) { return text_cell(word(r.rep.opponent_lead)); }},
    ExportColumn<R>{
        "verdict", "",
        "on time, around, clash, early, late, missed, wrong pad, no step, held, took the feint, got hit, gave "
        "ground, void",
        [](const R& r) { return text_cell(word(r.rep.verdict)); }},
    ExportColumn<R>{"void_reason", "", "why a rep is void; empty otherwise",
                    [](const R& r) {
                        return r.rep.verdict == Verdict::void_rep ? text_cell(word(r.rep.void_reason)) : ExportCell();
                    }},
    ExportColumn<R>{"scored", "", "true: in the denominator (no void, feint, catch trial)",
                    [](const R& r) { return ExportCell(r.rep.scored); }},
    ExportColumn<R>{"phase", "", "the true phase of the first contact; empty without one",
                    [](const R& r) { return words(r.rep.phase); }},
    ExportColumn<R>{"pad", "", "the pad first struck; empty without contact",
                    [](const R& r) { return words(r.rep.pad); }},
    ExportColumn<R>{"latency_ms", "ms", "from the start of the asked moment to contact; empty without contact",
                    [](const R& r) { return ms(r.rep.latency); }},
    ExportColumn<R>{"uncertainty_ms", "ms",
                    "half-width that holds the true latency 99 times in 100; empty if a device was never measured",
                    [](const R& r) {
                        const bool known = r.rep.latency && r.rep.uncertainty != unknown_uncertainty;
                        return known ? ms(Duration(r.rep.uncertainty)) : ExportCell();
                    }},
    ExportColumn<R>{"commit_ms", "ms", "the last near-mark break before contact, on the latency's axis; empty if none",
                    [](const R& r) { return ms(r.rep.commit); }},
    ExportColumn<R>{"already_in", "", "true: contact without a near-mark break in the rep",
                    [](const R& r) { return ExportCell(r.rep.already_in); }},
    ExportColumn<R>{"error_ms", "ms", "contact minus the middle of the asked window; empty without contact",
                    [](const R& r) { return ms(r.rep.error); }},
    ExportColumn<R>{"drawn", "", "true: a feint drew the athlete in without a strike",
                    [](const R& r) { return ExportCell(r.rep.drawn); }},
    ExportColumn<R>{"onset_source", "", "how the phases are known: lamp, sound, screen, gate, tap",
                    [](const R& r) { return text_cell(word(r.rep.source)); }},
    ExportColumn<R>{
        "later_contacts_ms", "ms",
        "further contacts, on the latency's axis (from toe-off where there is no latency), parted by spaces",
        [](const R& r) { return later_contacts(r.rep); }},
    ExportColumn<R>{"window", "", "the level: the share of the asked moment, around its middle, that was on time",
                    [](const R& r) { return ExportCell(r.rep.window); }},
    ExportColumn<R>{"counts_for_rung", "",
                    "true: chosen, before it started, to count for a rung of the ladder (in training from an athlete's "
                    "second session of the drill on)",
                    [](const R& r) { return ExportCell(r.rep.counts && (r.session.test || r.counts_in_training)); }},
    ExportColumn<R>{"rung_hit", "", "what a rung takes for done, where that is not the verdict; else empty",
                    [](const R& r) { return yes_or_no(r.rep.rung_hit); }},
    ExportColumn<R>{"drawn_by", "", "the act that drew the attack; \"nothing\" where none did",
                    [](const R& r) { return text_cell(word(r.rep.drew_by)); }},
    ExportColumn<R>{"out_in_time", "",
                    "true: out of the near mark again in time; empty where it was not asked or not struck",
                    [](const R& r) { return yes_or_no(r.rep.out_in_time); }},
    ExportColumn<R>{"off_line", "", "true: off the attack line at contact; empty where no gate tells",
                    [](const R& r) { return yes_or_no(r.rep.off_line); }},
    ExportColumn<R>{"followed_up", "", "true: the second strike that was asked for came; else false or empty",
                    [](const R& r) { return yes_or_no(r.rep.followed_up); }},
    ExportColumn<R>{"at_edge", "",
                    "whether a partner attacked from the end of their room: elsewhere, led, crowded, unknown; \"not "
                    "asked\" in other drills",
                    [](const R& r) { return text_cell(word(r.rep.at_edge)); }},
    ExportColumn<R>{"edge_to_contact_ms", "ms",
                    "from the partner's back mark to contact; empty where they were not led there or not struck",
                    [](const R& r) { return ms(r.rep.edge_to_contact); }},
    ExportColumn<R>{"called", "", "what the athlete called it: early, on time, late; empty where nothing was called",
                    [](const R& r) { return words(r.rep.called); }},
    ExportColumn<R>{"lure_readable", "", "true: the beat that was set was followed; empty where none was asked for",
                    [](const R& r) { return r.rep.lure.played ? ExportCell(r.rep.lure.readable) : ExportCell(); }},
    ExportColumn<R>{"lure_ahead_ms", "ms",
                    "how long before the expected step in the athlete came; empty without a lure",
                    [](const R& r) { return ms(r.rep.lure.ahead); }},
};

using M = MeasureRow;
constexpr std::array measure_table{
    ExportColumn<M>{"athlete", "", "call-sign", [](const M& r) { return text_cell(r.athlete); }},
    ExportColumn<M>{"date", "", "year-month-day", [](const M& r) { return text_cell(r.measure.date); }},
    ExportColumn<M>{"measure", "", "what was measured, as it was named when imported",
                    [](const M& r) { return text_cell(r.measure.measure); }},
    ExportColumn<M>{"value", "as imported", "one for each athlete, date and measure",
                    [](const M& r) { return ExportCell(r.measure.value); }},
};

using A = Athlete;
ExportCell consent_cell(const Athlete& athlete, std::string Consent::*part) {
    return athlete.consent ? text_cell(*athlete.consent.*part) : ExportCell();
}
constexpr std::array athlete_table{
    ExportColumn<A>{"call_sign", "", "how the athlete is shown; no two are alike, letter case aside",
                    [](const A& a) { return text_cell(a.call_sign); }},
    ExportColumn<A>{"real_name", "", "never needed", [](const A& a) { return text_cell(a.real_name); }},
    ExportColumn<A>{"grade", "", "belt or grade", [](const A& a) { return text_cell(a.grade); }},
    ExportColumn<A>{"lead", "", "the forward side: left or right", [](const A& a) { return text_cell(word(a.lead)); }},
    ExportColumn<A>{"height_band", "", "as the coach wrote it", [](const A& a) { return text_cell(a.height_band); }},
    ExportColumn<A>{"birth_year", "year", "decides doses, a child's words and page, and who answers about consent",
                    [](const A& a) { return a.birth_year ? whole(*a.birth_year) : ExportCell(); }},
    ExportColumn<A>{"group", "", "the athlete's training group", [](const A& a) { return text_cell(a.group); }},
    ExportColumn<A>{"notes", "", "the coach's", [](const A& a) { return text_cell(a.notes); }},
    ExportColumn<A>{"consent_on", "", "year-month-day on which consent to keep the data was given; empty for none",
                    [](const A& a) { return consent_cell(a, &Consent::on); }},
    ExportColumn<A>{"consent_by", "", "by whom", [](const A& a) { return consent_cell(a, &Consent::by); }},
    ExportColumn<A>{"consent_until", "", "its last day; empty if it does not run out",
                    [](const A& a) { return consent_cell(a, &Consent::until); }},
    ExportColumn<A>{"consent_refused_on", "", "year-month-day of a no, or of a yes withdrawn; empty for neither",
                    [](const A& a) { return text_cell(a.consent_refused_on); }},
    ExportColumn<A>{"consent_share_on", "", "year-month-day of a yes to sharing results with a server; empty for none",
                    [](const A& a) { return text_cell(a.consent_share_on); }},
};

}  // namespace

std::span<const ExportColumn<Athlete>> athlete_columns() { return athlete_table; }
std::span<const ExportColumn<SessionRow>> session_columns() { return session_table; }
std::span<const ExportColumn<RepRow>> rep_columns() { return rep_table; }
std::size_t rep_columns_about_the_session() { return about_the_session; }
std::span<const ExportColumn<MeasureRow>> measure_columns() { return measure_table; }

std::string csv_text(const ExportCell& cell) {
    struct Writer {
        std::string operator()(std::monostate) const { return ""; }
        std::string operator()(bool truth) const { return truth ? "true" : "false"; }
        std::string operator()(std::int64_t number) const { return std::to_string(number); }
        std::string operator()(std::uint64_t number) const { return std::to_string(number); }
        std::string operator()(double number) const { return fmt::format("{}", number); }
        std::string operator()(const std::string& text) const { return csv_cell(harmless_text(text)); }
    };
    return std::visit(Writer{}, cell);
}

}  // namespace breakstep
