// Which member of a value stands in which column: one visitor list a table, used for writing, reading and the tests.
// Internal to host/store.
//
// A visitor is called with (column name, member). Members that need a form of their own in SQL come wrapped: an unknown
// uncertainty is NULL, a 64-bit id is its bits as a signed integer, an empty consent is three NULLs.
#pragma once

#include <string_view>

#include "store/store_rows.hpp"

namespace breakstep::columns {

/// An Uncertainty whose -1 (nobody measured it) is NULL.
template <class T>
struct KnownOrNull {
    T& value;
};
template <class T>
KnownOrNull(T&) -> KnownOrNull<T>;

/// A string whose "" is NULL.
template <class T>
struct TextOrNull {
    T& value;
};
template <class T>
TextOrNull(T&) -> TextOrNull<T>;

template <class Rep, class Visitor>
void visit_rep(Rep& rep, Visitor&& visitor) {
    visitor("rep", rep.rep);
    visitor("set_index", rep.set);
    visitor("number", rep.number);
    visitor("kind", rep.asked.kind);
    visitor("rebounds", rep.asked.rebounds);
    visitor("share", rep.asked.share);
    visitor("moment", rep.asked.moment);
    visitor("counter", rep.asked.counter);
    visitor("pads", rep.asked.pads);
    visitor("catch_trial", rep.catch_trial);
    visitor("opponent_lead", rep.opponent_lead);
    visitor("start", rep.start);
    visitor("verdict", rep.verdict);
    visitor("void_reason", rep.void_reason);
    visitor("scored", rep.scored);
    visitor("phase", rep.phase);
    visitor("pad", rep.pad);
    visitor("peak", rep.peak);
    visitor("latency_ns", rep.latency);
    visitor("uncertainty_ns", KnownOrNull{rep.uncertainty});
    visitor("commit_ns", rep.commit);
    visitor("already_in", rep.already_in);
    visitor("error_ns", rep.error);
    visitor("drawn", rep.drawn);
    visitor("contacted", rep.contacted);
    visitor("source", rep.source);
    visitor("later_contacts_ns", rep.later_contacts);
    visitor("contact_from_onset_ns", rep.contact_from_onset);
    visitor("commit_from_onset_ns", rep.commit_from_onset);
    visitor("phases_ns", rep.phases);
    visitor("retreated", rep.retreated);
    visitor("moments", rep.asked.moments);
    visitor("telegraphed", rep.telegraphed);
    visitor("came", rep.came);
    visitor("impossible", rep.impossible);
    visitor("told", rep.told);
    visitor("border_bounds_ns", rep.border_bounds);
    visitor("cue_to_toe_off_ns", rep.cue_to_toe_off);
    visitor("cue_uncertainty_ns", KnownOrNull{rep.cue_uncertainty});
    visitor("level_window", rep.window);
    visitor("counts", rep.counts);
    visitor("rung_hit", rep.rung_hit);
    visitor("drew_by", rep.drew_by);
    visitor("draw_to_toe_off_ns", rep.draw_to_toe_off);
    visitor("out_in_time", rep.out_in_time);
    visitor("off_line", rep.off_line);
    visitor("followed_up", rep.followed_up);
    visitor("called", rep.called);
    visitor("then_pads", rep.asked.then_pads);
    visitor("then_within_ns", rep.asked.then_within);
    visitor("lure", rep.lure.played);
    visitor("lure_windows", rep.lure.windows);
    visitor("lure_caught", rep.lure.caught);
    visitor("lure_wealth", rep.lure.wealth);
    visitor("lure_readable", rep.lure.readable);
    visitor("lure_ahead_ns", rep.lure.ahead);
    visitor("lure_broken", rep.lure.broken);
    visitor("stood", rep.stood);
    visitor("gave", rep.gave);
    visitor("at_edge", rep.at_edge);
    visitor("edge_to_contact_ns", rep.edge_to_contact);
}

/// As the totals list them themselves.
template <class Totals, class Visitor>
void visit_totals(Totals& totals, Visitor&& visitor) {
    fields(totals, visitor);
}

template <class Row, class Visitor>
void visit_athlete(Row& athlete, Visitor&& visitor) {
    visitor("id", athlete.id);
    visitor("call_sign", TextOrNull{athlete.call_sign});
    visitor("real_name", athlete.real_name);
    visitor("grade", athlete.grade);
    visitor("height_band", athlete.height_band);
    visitor("training_group", athlete.group);
    visitor("notes", athlete.notes);
    visitor("lead", athlete.lead);
    visitor("birth_year", athlete.birth_year);
    visitor("added_unix_s", athlete.added_unix_seconds);
    visitor("consent_refused_on", TextOrNull{athlete.consent_refused_on});
    visitor("consent_share_on", TextOrNull{athlete.consent_share_on});
    visitor("placed_rung", athlete.placed_rung);
    visitor("placed_on", TextOrNull{athlete.placed_on});
}

template <class Row, class Visitor>
void visit_consent(Row& consent, Visitor&& visitor) {
    visitor("consent_on", consent.on);
    visitor("consent_by", consent.by);
    visitor("consent_until", consent.until);
}

template <class Row, class Visitor>
void visit_measure(Row& measure, Visitor&& visitor) {
    visitor("athlete", measure.athlete);
    visitor("measure", measure.measure);
    visitor("date", measure.date);
    visitor("value", measure.value);
}

template <class Row, class Visitor>
void visit_backup(Row& backup, Visitor&& visitor) {
    visitor("path", backup.path);
    visitor("made_unix_s", backup.made_unix_seconds);
}

/// Without the counts, which are asked apart.
template <class Row, class Visitor>
void visit_session(Row& session, Visitor&& visitor) {
    visitor("id", session.id);
    visitor("athlete", session.athlete);
    visitor("began_unix_s", session.began_unix_seconds);
    visitor("drill", session.drill);
    visitor("start", session.start);
    visitor("stance", session.stance);
    visitor("level", session.level);
    visitor("test", session.test);
    visitor("athlete_lead", session.athlete_lead);
    visitor("seed", session.seed);
    visitor("how", session.how);
}

template <class Row, class Visitor>
void visit_calibration(Row& calibration, Visitor&& visitor) {
    visitor("source", calibration.source);
    visitor("device", calibration.device);
    visitor("measured_unix_s", calibration.measured_unix_seconds);
    visitor("delay_ns", calibration.delay);
    visitor("spread_ns", KnownOrNull{calibration.spread});
    visitor("samples", calibration.samples);
}

}  // namespace breakstep::columns
