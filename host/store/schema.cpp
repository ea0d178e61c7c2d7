#include "store/schema.hpp"

#include <array>

namespace breakstep::schema {
namespace {

// Words are stored as on screen, so that the tables can be read by a person; times are integers in the unit their
// column names. Ids are 64 random bits, stored as SQLite's signed integers. Sessions are numbered in the order in which
// they began: events and reps then always grow at the end of their tables.
constexpr std::string_view first = R"sql(
CREATE TABLE athletes (
    id            INTEGER PRIMARY KEY CHECK (id <> 0),
    call_sign     TEXT COLLATE NOCASE UNIQUE CHECK (length(call_sign) BETWEEN 1 AND 200),
    real_name     TEXT NOT NULL DEFAULT '',
    grade         TEXT NOT NULL DEFAULT '',
    height_band   TEXT NOT NULL DEFAULT '',
    training_group TEXT NOT NULL DEFAULT '',
    notes         TEXT NOT NULL DEFAULT '',
    lead          TEXT NOT NULL DEFAULT 'right' CHECK (lead IN ('left', 'right')),
    birth_year    INTEGER CHECK (birth_year BETWEEN 1900 AND 2200),
    consent_on    TEXT,
    consent_by    TEXT,
    consent_until TEXT,
    added_unix_s  INTEGER NOT NULL DEFAULT 0
) STRICT;

CREATE TABLE sessions (
    number       INTEGER PRIMARY KEY,
    id           INTEGER NOT NULL UNIQUE,
    athlete      INTEGER REFERENCES athletes (id) ON DELETE CASCADE,
    began_unix_s INTEGER NOT NULL DEFAULT 0,
    drill        TEXT NOT NULL DEFAULT '',
    start        TEXT NOT NULL DEFAULT 'random',
    stance       TEXT NOT NULL DEFAULT 'closed',
    level        TEXT NOT NULL DEFAULT 'intermediate',
    test         INTEGER NOT NULL DEFAULT 0 CHECK (test IN (0, 1)),
    athlete_lead TEXT NOT NULL DEFAULT 'right',
    seed         INTEGER NOT NULL DEFAULT 0,
    how          TEXT
) STRICT;
CREATE INDEX sessions_by_athlete ON sessions (athlete);

CREATE TABLE events (
    session     INTEGER NOT NULL REFERENCES sessions (number) ON DELETE CASCADE,
    position    INTEGER NOT NULL CHECK (position >= 0),
    kind        INTEGER NOT NULL,
    recorded_ns INTEGER NOT NULL,
    bytes       BLOB NOT NULL,
    PRIMARY KEY (session, position)
) STRICT, WITHOUT ROWID;

CREATE TABLE reps (
    session            INTEGER NOT NULL REFERENCES sessions (number) ON DELETE CASCADE,
    rep                INTEGER NOT NULL CHECK (rep >= 0),
    set_index          INTEGER NOT NULL,
    number             INTEGER NOT NULL,
    kind               TEXT NOT NULL,
    rebounds           INTEGER NOT NULL,
    share              INTEGER NOT NULL,
    moment             TEXT NOT NULL,
    counter            TEXT NOT NULL,
    pads               INTEGER NOT NULL,
    catch_trial        INTEGER NOT NULL,
    opponent_lead      TEXT NOT NULL,
    start              TEXT NOT NULL,
    verdict            TEXT NOT NULL,
    void_reason        TEXT NOT NULL,
    scored             INTEGER NOT NULL,
    phase              TEXT,
    pad                TEXT,
    peak               INTEGER NOT NULL,
    latency_ns         INTEGER,
    uncertainty_ns     INTEGER,
    commit_ns          INTEGER,
    already_in         INTEGER NOT NULL,
    error_ns           INTEGER,
    drawn              INTEGER NOT NULL,
    contacted          INTEGER NOT NULL,
    source             TEXT NOT NULL,
    later_contacts_ns  TEXT NOT NULL,
    contact_from_onset_ns INTEGER,
    commit_from_onset_ns  INTEGER,
    phases_ns          TEXT NOT NULL,
    PRIMARY KEY (session, rep)
) STRICT, WITHOUT ROWID;

CREATE TABLE totals (
    session               INTEGER PRIMARY KEY REFERENCES sessions (number) ON DELETE CASCADE,
    reps                  INTEGER NOT NULL,
    scored                INTEGER NOT NULL,
    on_time               INTEGER NOT NULL,
    around                INTEGER NOT NULL,
    clashes               INTEGER NOT NULL,
    voids                 INTEGER NOT NULL,
    attacks               INTEGER NOT NULL,
    attacks_contacted     INTEGER NOT NULL,
    feints                INTEGER NOT NULL,
    feints_taken          INTEGER NOT NULL,
    catch_trials          INTEGER NOT NULL,
    catch_trials_struck   INTEGER NOT NULL,
    on_time_rate          REAL,
    median_latency_ms     REAL,
    constant_error_ms     REAL,
    variable_error_ms     REAL,
    absolute_error_ms     REAL,
    d_prime               REAL,
    d_prime_low           REAL,
    d_prime_high          REAL,
    d_prime_at_least_only INTEGER NOT NULL,
    timeable              REAL,
    timeable_low          REAL,
    timeable_high         REAL,
    windows               INTEGER NOT NULL,
    caught                INTEGER NOT NULL,
    caught_by_chance      REAL NOT NULL,
    wealth                REAL NOT NULL,
    sign                  TEXT NOT NULL,
    sign_reason           TEXT NOT NULL,
    home_share            REAL,
    retreats              INTEGER NOT NULL,
    stray_contacts        INTEGER NOT NULL,
    events_lost           INTEGER NOT NULL,
    unknown_events        INTEGER NOT NULL
) STRICT;

CREATE TABLE calibrations (
    number          INTEGER PRIMARY KEY,
    source          TEXT NOT NULL CHECK (source IN ('sound', 'screen')),
    device          TEXT NOT NULL,
    measured_unix_s INTEGER NOT NULL,
    delay_ns        INTEGER NOT NULL,
    spread_ns       INTEGER,
    samples         INTEGER NOT NULL
) STRICT;
)sql";

// Past results that were imported, and where copies of this store were put, so that erasing can name them.
constexpr std::string_view second = R"sql(
CREATE TABLE measures (
    athlete INTEGER NOT NULL REFERENCES athletes (id) ON DELETE CASCADE,
    measure TEXT NOT NULL CHECK (length(measure) BETWEEN 1 AND 200),
    date    TEXT NOT NULL CHECK (date GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]'),
    value   REAL NOT NULL,
    PRIMARY KEY (athlete, measure, date)
) STRICT, WITHOUT ROWID;

CREATE TABLE backups (
    number      INTEGER PRIMARY KEY,
    path        TEXT NOT NULL,
    made_unix_s INTEGER NOT NULL
) STRICT;
)sql";

// Sessions kept before this step say of no rep that it was a retreat; rescoring them does.
constexpr std::string_view third = R"sql(
ALTER TABLE reps ADD COLUMN retreated INTEGER NOT NULL DEFAULT 0;
)sql";

// Sums over what a session holds, and over tables that are read as a whole (sums.hpp). Sessions and tables that were
// kept before this step have none. A no to keeping and a yes to sharing, which no athlete said before this step; their
// default is written out, because rescue takes rows without a column only where it knows what stands in its place. What
// the totals had no column for: sessions kept before tell none of it until they are scored again. And the folders that
// reports and captures were put into, so that erasing finds them.
constexpr std::string_view fourth = R"sql(
ALTER TABLE totals ADD COLUMN misplaced_events INTEGER NOT NULL DEFAULT 0;
ALTER TABLE totals ADD COLUMN impossible_events INTEGER NOT NULL DEFAULT 0;
ALTER TABLE totals ADD COLUMN clock_rate_ppm REAL DEFAULT NULL;
ALTER TABLE totals ADD COLUMN read_wealth REAL NOT NULL DEFAULT 1;
ALTER TABLE totals ADD COLUMN read_sign TEXT NOT NULL DEFAULT 'no sign';
ALTER TABLE totals ADD COLUMN read_reason TEXT NOT NULL DEFAULT '';
ALTER TABLE totals ADD COLUMN two_signs INTEGER NOT NULL DEFAULT 0;

CREATE TABLE session_sums (
    session         INTEGER PRIMARY KEY REFERENCES sessions (number) ON DELETE CASCADE,
    session_columns INTEGER NOT NULL,
    session_sum     INTEGER NOT NULL,
    events          INTEGER NOT NULL,
    event_columns   INTEGER NOT NULL,
    events_sum      INTEGER NOT NULL,
    reps            INTEGER NOT NULL,
    rep_columns     INTEGER NOT NULL,
    reps_sum        INTEGER NOT NULL,
    totals_columns  INTEGER NOT NULL,
    totals_sum      INTEGER NOT NULL
) STRICT;

CREATE TABLE table_sums (
    name    TEXT PRIMARY KEY,
    columns INTEGER NOT NULL,
    rows    INTEGER NOT NULL,
    sum     INTEGER NOT NULL
) STRICT, WITHOUT ROWID;

ALTER TABLE athletes ADD COLUMN consent_refused_on TEXT DEFAULT NULL;
ALTER TABLE athletes ADD COLUMN consent_share_on TEXT DEFAULT NULL;
CREATE TABLE made_in (
    number INTEGER PRIMARY KEY,
    folder TEXT NOT NULL
) STRICT;
)sql";

// The journals of evenings (core/evening). They serve the evening itself: whose turn it is, after a power cut. Nobody's
// results stand there; `athlete` is whom an event names, 0 for nobody, so that erasing an athlete finds it.
constexpr std::string_view of_evenings = R"sql(
CREATE TABLE evenings (
    number       INTEGER PRIMARY KEY,
    id           INTEGER NOT NULL UNIQUE,
    began_unix_s INTEGER NOT NULL DEFAULT 0,
    ended        INTEGER NOT NULL DEFAULT 0
) STRICT;

CREATE TABLE evening_events (
    evening  INTEGER NOT NULL REFERENCES evenings (number) ON DELETE CASCADE,
    position INTEGER NOT NULL CHECK (position >= 0),
    kind     INTEGER NOT NULL,
    at_ns    INTEGER NOT NULL,
    athlete  INTEGER NOT NULL,
    bytes    BLOB NOT NULL,
    PRIMARY KEY (evening, position)
) STRICT, WITHOUT ROWID;
)sql";

// Reps that may be met in one of several moments, and those before which the opponent leaned.
constexpr std::string_view of_leans = R"sql(
ALTER TABLE reps ADD COLUMN moments INTEGER NOT NULL DEFAULT 0;
ALTER TABLE reps ADD COLUMN telegraphed INTEGER NOT NULL DEFAULT 0;
)sql";

// For clubs together: when each of an athlete's fields was last changed and on which computer (what is not named here
// was said when the athlete was added), athletes that were erased, and pairs that are one. The computer names itself
// when it first has something to say. Sessions in the order in which they began, which is the same in every store.
constexpr std::string_view of_clubs = R"sql(
CREATE TABLE athlete_changes (
    athlete         INTEGER NOT NULL,
    field           TEXT NOT NULL,
    changed_unix_ms INTEGER NOT NULL,
    author          BLOB NOT NULL,
    PRIMARY KEY (athlete, field)
) STRICT, WITHOUT ROWID;

CREATE TABLE erased (
    athlete        INTEGER PRIMARY KEY,
    erased_unix_ms INTEGER NOT NULL
) STRICT;

CREATE TABLE joined (
    gone           INTEGER PRIMARY KEY,
    kept           INTEGER NOT NULL,
    joined_unix_ms INTEGER NOT NULL
) STRICT;

CREATE TABLE computer (
    number INTEGER PRIMARY KEY,
    name   BLOB NOT NULL
) STRICT;

CREATE INDEX sessions_in_order ON sessions (began_unix_s, id);
)sql";

// A partner's reps: what the leg did. Of a rep without one `came` is null.
constexpr std::string_view of_partners = R"sql(
ALTER TABLE reps ADD COLUMN came TEXT DEFAULT NULL;
ALTER TABLE reps ADD COLUMN impossible INTEGER NOT NULL DEFAULT 0;
ALTER TABLE reps ADD COLUMN told INTEGER NOT NULL DEFAULT 0;
ALTER TABLE reps ADD COLUMN border_bounds_ns TEXT NOT NULL DEFAULT '';
ALTER TABLE reps ADD COLUMN cue_to_toe_off_ns INTEGER DEFAULT NULL;
ALTER TABLE reps ADD COLUMN cue_uncertainty_ns INTEGER DEFAULT NULL;
)sql";

// The level of a rep, whether it counts for a rung, and what else a drill asked: the way out, the line, a second
// strike, the athlete's own call, the beat that was set and broken.
constexpr std::string_view of_countering = R"sql(
ALTER TABLE reps ADD COLUMN level_window REAL NOT NULL DEFAULT 1;
ALTER TABLE reps ADD COLUMN counts INTEGER NOT NULL DEFAULT 0;
ALTER TABLE reps ADD COLUMN rung_hit INTEGER DEFAULT NULL;
ALTER TABLE reps ADD COLUMN drew_by TEXT NOT NULL DEFAULT 'nothing';
ALTER TABLE reps ADD COLUMN draw_to_toe_off_ns INTEGER DEFAULT NULL;
ALTER TABLE reps ADD COLUMN out_in_time INTEGER DEFAULT NULL;
ALTER TABLE reps ADD COLUMN off_line INTEGER DEFAULT NULL;
ALTER TABLE reps ADD COLUMN followed_up INTEGER DEFAULT NULL;
ALTER TABLE reps ADD COLUMN called TEXT DEFAULT NULL;
ALTER TABLE reps ADD COLUMN then_pads INTEGER NOT NULL DEFAULT 0;
ALTER TABLE reps ADD COLUMN then_within_ns INTEGER NOT NULL DEFAULT 600000000;
ALTER TABLE reps ADD COLUMN lure INTEGER NOT NULL DEFAULT 0;
ALTER TABLE reps ADD COLUMN lure_windows INTEGER NOT NULL DEFAULT 0;
ALTER TABLE reps ADD COLUMN lure_caught INTEGER NOT NULL DEFAULT 0;
ALTER TABLE reps ADD COLUMN lure_wealth REAL NOT NULL DEFAULT 1;
ALTER TABLE reps ADD COLUMN lure_readable INTEGER NOT NULL DEFAULT 0;
ALTER TABLE reps ADD COLUMN lure_ahead_ns INTEGER DEFAULT NULL;
ALTER TABLE reps ADD COLUMN lure_broken INTEGER NOT NULL DEFAULT 0;
)sql";

// Where the athlete stood as an attack came and how far they gave ground; and the rung that a coach put somebody on.
constexpr std::string_view of_footing = R"sql(
ALTER TABLE reps ADD COLUMN stood TEXT NOT NULL DEFAULT 'unknown';
ALTER TABLE reps ADD COLUMN gave INTEGER NOT NULL DEFAULT 0;
ALTER TABLE athletes ADD COLUMN placed_rung INTEGER DEFAULT NULL;
ALTER TABLE athletes ADD COLUMN placed_on TEXT DEFAULT NULL;
)sql";

// Whether a partner attacked from the end of their room, and how soon after they came there they were met.
constexpr std::string_view of_edge = R"sql(
ALTER TABLE reps ADD COLUMN at_edge TEXT NOT NULL DEFAULT 'not asked';
ALTER TABLE reps ADD COLUMN edge_to_contact_ns INTEGER DEFAULT NULL;
)sql";

constexpr std::array<std::string_view, 11> all_steps{
    first, second, third, fourth, of_evenings, of_leans, of_clubs, of_partners, of_countering, of_footing, of_edge};

}  // namespace

std::span<const std::string_view> steps() { return all_steps; }

}  // namespace breakstep::schema
