// The steps themselves; who may do what on the server stands here and nowhere else.
#include <algorithm>
#include <array>

#include "club/sharing/server_schema.hpp"

namespace breakstep::sharing {
namespace {

// A login belongs to one club (or, a federation's, to none) by the table of members; every other table has the club in
// each row, and a policy that shows a login its own club's rows. Journals are only ever added to: no login of a club
// may change or remove a record, but by erasing an athlete.
//
// Functions that run with their owner's rights name the schemas they look into.
constexpr std::string_view first = R"sql(
CREATE SCHEMA breakstep;

CREATE TABLE breakstep.server (version integer NOT NULL);
INSERT INTO breakstep.server VALUES (0);

CREATE TABLE breakstep.clubs (
    id   bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    name text NOT NULL UNIQUE CHECK (length(name) BETWEEN 1 AND 200)
);
CREATE TABLE breakstep.members (
    login name PRIMARY KEY,
    club  bigint REFERENCES breakstep.clubs ON DELETE CASCADE,
    may   text NOT NULL CHECK (may IN ('club', 'coach', 'federation')),
    CHECK ((may = 'federation') = (club IS NULL))
);

DO $$
DECLARE wanted text;
BEGIN
    FOREACH wanted IN ARRAY ARRAY['breakstep_club', 'breakstep_coach', 'breakstep_federation'] LOOP
        IF NOT EXISTS (SELECT FROM pg_roles WHERE rolname = wanted) THEN
            EXECUTE format('CREATE ROLE %I NOLOGIN', wanted);
        END IF;
    END LOOP;
END $$;

CREATE FUNCTION breakstep.my_club() RETURNS bigint LANGUAGE sql STABLE SECURITY DEFINER
    SET search_path = pg_catalog, pg_temp
    AS 'SELECT club FROM breakstep.members WHERE login = session_user';
CREATE FUNCTION breakstep.i_may() RETURNS text LANGUAGE sql STABLE SECURITY DEFINER
    SET search_path = pg_catalog, pg_temp
    AS 'SELECT may FROM breakstep.members WHERE login = session_user';

CREATE TABLE breakstep.athletes (
    club bigint NOT NULL REFERENCES breakstep.clubs ON DELETE CASCADE,
    id   bigint NOT NULL CHECK (id <> 0),
    PRIMARY KEY (club, id)
);
CREATE TABLE breakstep.athlete_changes (
    club            bigint NOT NULL REFERENCES breakstep.clubs ON DELETE CASCADE,
    athlete         bigint NOT NULL,
    field           text NOT NULL,
    changed_unix_ms bigint NOT NULL,
    author          bigint NOT NULL,
    PRIMARY KEY (club, athlete, field)
);
CREATE TABLE breakstep.measures (
    club    bigint NOT NULL REFERENCES breakstep.clubs ON DELETE CASCADE,
    athlete bigint NOT NULL,
    measure text NOT NULL,
    date    text NOT NULL,
    PRIMARY KEY (club, athlete, measure, date)
);
CREATE TABLE breakstep.erased (
    club           bigint NOT NULL REFERENCES breakstep.clubs ON DELETE CASCADE,
    athlete        bigint NOT NULL,
    erased_unix_ms bigint NOT NULL,
    PRIMARY KEY (club, athlete)
);
CREATE TABLE breakstep.withdrawn (
    club              bigint NOT NULL REFERENCES breakstep.clubs ON DELETE CASCADE,
    athlete           bigint NOT NULL,
    withdrawn_unix_ms bigint NOT NULL,
    author            bigint NOT NULL,
    PRIMARY KEY (club, athlete)
);
CREATE TABLE breakstep.joined (
    club           bigint NOT NULL REFERENCES breakstep.clubs ON DELETE CASCADE,
    gone           bigint NOT NULL,
    kept           bigint NOT NULL,
    joined_unix_ms bigint NOT NULL,
    PRIMARY KEY (club, gone)
);
CREATE TABLE breakstep.sessions (
    club           bigint NOT NULL REFERENCES breakstep.clubs ON DELETE CASCADE,
    id             bigint NOT NULL,
    term           integer NOT NULL,
    events         bigint NOT NULL DEFAULT 0,
    results_fold   integer NOT NULL DEFAULT 0,
    results_events bigint NOT NULL DEFAULT 0,
    results_sum    bigint,
    PRIMARY KEY (club, id)
);
CREATE TABLE breakstep.totals (
    club    bigint NOT NULL REFERENCES breakstep.clubs ON DELETE CASCADE,
    session bigint NOT NULL,
    PRIMARY KEY (club, session)
);
CREATE TABLE breakstep.events (
    club        bigint NOT NULL,
    term        integer NOT NULL,
    session     bigint NOT NULL,
    position    bigint NOT NULL CHECK (position >= 0),
    kind        integer NOT NULL,
    recorded_ns bigint NOT NULL,
    bytes       bytea NOT NULL,
    PRIMARY KEY (club, term, session, position)
) PARTITION BY LIST (term);
CREATE TABLE breakstep.reps (
    club    bigint NOT NULL,
    term    integer NOT NULL,
    session bigint NOT NULL,
    rep     bigint NOT NULL,
    PRIMARY KEY (club, term, session, rep)
) PARTITION BY LIST (term);

-- The parts of a half-year, each in eight by the club.
CREATE FUNCTION breakstep.make_term(wanted integer) RETURNS void LANGUAGE plpgsql SECURITY DEFINER
    SET search_path = pg_catalog, pg_temp AS $$
DECLARE of_what text; part integer; name text;
BEGIN
    IF wanted NOT BETWEEN 0 AND 460 THEN RAISE EXCEPTION 'there is no term %', wanted; END IF;
    PERFORM pg_advisory_xact_lock(1651666803, wanted);
    FOREACH of_what IN ARRAY ARRAY['events', 'reps'] LOOP
        name := format('%s_%s', of_what, wanted);
        CONTINUE WHEN to_regclass(format('breakstep.%I', name)) IS NOT NULL;
        -- Who waited for the lock may still hold the catalogue of before.
        BEGIN
            EXECUTE format('CREATE TABLE breakstep.%I PARTITION OF breakstep.%I FOR VALUES IN (%s) PARTITION BY HASH (club)',
                           name, of_what, wanted);
        EXCEPTION WHEN duplicate_table THEN
            CONTINUE;
        END;
        EXECUTE format('ALTER TABLE breakstep.%I ENABLE ROW LEVEL SECURITY', name);
        FOR part IN 0..7 LOOP
            EXECUTE format('CREATE TABLE breakstep.%I PARTITION OF breakstep.%I FOR VALUES WITH (MODULUS 8, REMAINDER %s)',
                           name || '_' || part, name, part);
            EXECUTE format('ALTER TABLE breakstep.%I ENABLE ROW LEVEL SECURITY', name || '_' || part);
        END LOOP;
    END LOOP;
END $$;

-- Everything of an athlete, for good; what stays is that nobody may bring it again. A laptop that is sending something
-- of the athlete holds the lock that is waited for here.
CREATE FUNCTION breakstep.remove_athlete(whose bigint) RETURNS void LANGUAGE plpgsql SECURITY DEFINER
    SET search_path = pg_catalog, pg_temp AS $$
DECLARE own bigint := breakstep.my_club(); gone bigint[]; terms integer[];
BEGIN
    SELECT array_agg(id), array_agg(DISTINCT term) INTO gone, terms FROM breakstep.sessions
        WHERE club = own AND athlete = whose;
    DELETE FROM breakstep.events WHERE club = own AND term = ANY (terms) AND session = ANY (gone);
    DELETE FROM breakstep.reps WHERE club = own AND term = ANY (terms) AND session = ANY (gone);
    DELETE FROM breakstep.totals WHERE club = own AND session = ANY (gone);
    DELETE FROM breakstep.sessions WHERE club = own AND id = ANY (gone);
    DELETE FROM breakstep.measures WHERE club = own AND athlete = whose;
    DELETE FROM breakstep.athlete_changes WHERE club = own AND athlete = whose;
    DELETE FROM breakstep.athletes WHERE club = own AND id = whose;
END $$;
REVOKE ALL ON FUNCTION breakstep.remove_athlete FROM PUBLIC;

CREATE FUNCTION breakstep.erase(whose bigint, at_unix_ms bigint) RETURNS void LANGUAGE plpgsql SECURITY DEFINER
    SET search_path = pg_catalog, pg_temp AS $$
DECLARE own bigint := breakstep.my_club(); one bigint;
BEGIN
    IF breakstep.i_may() IS DISTINCT FROM 'club' THEN
        RAISE EXCEPTION 'only a club''s laptop erases' USING ERRCODE = 'insufficient_privilege';
    END IF;
    FOR one IN SELECT whose UNION SELECT gone FROM breakstep.joined WHERE club = own AND kept = whose ORDER BY 1 LOOP
        PERFORM pg_advisory_xact_lock(one);
        INSERT INTO breakstep.erased VALUES (own, one, at_unix_ms) ON CONFLICT DO NOTHING;
        PERFORM breakstep.remove_athlete(one);
        DELETE FROM breakstep.withdrawn WHERE club = own AND athlete = one;
    END LOOP;
    DELETE FROM breakstep.joined WHERE club = own AND kept = whose;
END $$;

-- A yes to sharing that was taken back: out of the server, while the club's laptops keep what they may.
CREATE FUNCTION breakstep.withdraw(whose bigint, at_unix_ms bigint, by_author bigint) RETURNS void
    LANGUAGE plpgsql SECURITY DEFINER SET search_path = pg_catalog, pg_temp AS $$
DECLARE own bigint := breakstep.my_club();
BEGIN
    IF breakstep.i_may() IS DISTINCT FROM 'club' THEN
        RAISE EXCEPTION 'only a club''s laptop withdraws' USING ERRCODE = 'insufficient_privilege';
    END IF;
    PERFORM pg_advisory_xact_lock(whose);
    INSERT INTO breakstep.withdrawn VALUES (own, whose, at_unix_ms, by_author) ON CONFLICT (club, athlete)
        DO UPDATE SET withdrawn_unix_ms = greatest(withdrawn.withdrawn_unix_ms, at_unix_ms), author = by_author;
    PERFORM breakstep.remove_athlete(whose);
END $$;

CREATE FUNCTION breakstep.join_athletes(other bigint, whom bigint, at_unix_ms bigint) RETURNS void
    LANGUAGE plpgsql SECURITY DEFINER SET search_path = pg_catalog, pg_temp AS $$
DECLARE own bigint := breakstep.my_club(); target bigint;
BEGIN
    IF breakstep.i_may() IS DISTINCT FROM 'club' THEN
        RAISE EXCEPTION 'only a club''s laptop joins' USING ERRCODE = 'insufficient_privilege';
    END IF;
    target := coalesce((SELECT kept FROM breakstep.joined WHERE club = own AND gone = whom), whom);
    IF target = other OR EXISTS (SELECT FROM breakstep.joined WHERE club = own AND gone = other) THEN RETURN; END IF;
    PERFORM pg_advisory_xact_lock(least(other, target));
    PERFORM pg_advisory_xact_lock(greatest(other, target));
    INSERT INTO breakstep.joined VALUES (own, other, target, at_unix_ms);
    UPDATE breakstep.joined SET kept = target WHERE club = own AND kept = other;
    UPDATE breakstep.sessions SET athlete = target WHERE club = own AND athlete = other;
    INSERT INTO breakstep.measures SELECT club, target, measure, date, value FROM breakstep.measures
        WHERE club = own AND athlete = other ON CONFLICT DO NOTHING;
    DELETE FROM breakstep.measures WHERE club = own AND athlete = other;
    DELETE FROM breakstep.athlete_changes WHERE club = own AND athlete = other;
    DELETE FROM breakstep.athletes WHERE club = own AND id = other;
END $$;
)sql";

// After the first step the columns of the visitor lists are there.
constexpr std::string_view second = R"sql(
CREATE INDEX sessions_of_athletes ON breakstep.sessions (club, athlete);

GRANT USAGE ON SCHEMA breakstep TO breakstep_club, breakstep_coach, breakstep_federation;
GRANT SELECT ON breakstep.server TO breakstep_club, breakstep_coach, breakstep_federation;
GRANT SELECT ON breakstep.clubs, breakstep.athletes, breakstep.athlete_changes, breakstep.measures, breakstep.erased,
    breakstep.withdrawn, breakstep.joined, breakstep.sessions, breakstep.totals, breakstep.events, breakstep.reps
    TO breakstep_club, breakstep_coach;
GRANT INSERT, UPDATE ON breakstep.athletes, breakstep.athlete_changes, breakstep.measures, breakstep.sessions
    TO breakstep_club;
GRANT INSERT ON breakstep.events TO breakstep_club;
GRANT INSERT, DELETE ON breakstep.reps, breakstep.totals TO breakstep_club;
GRANT DELETE ON breakstep.withdrawn TO breakstep_club;
REVOKE ALL ON FUNCTION breakstep.make_term, breakstep.erase, breakstep.withdraw, breakstep.join_athletes FROM PUBLIC;
GRANT EXECUTE ON FUNCTION breakstep.make_term, breakstep.erase, breakstep.withdraw, breakstep.join_athletes
    TO breakstep_club;

DO $$
DECLARE of_what text;
BEGIN
    FOREACH of_what IN ARRAY ARRAY['athletes', 'athlete_changes', 'measures', 'erased', 'withdrawn', 'joined',
                                   'sessions', 'totals', 'events', 'reps'] LOOP
        EXECUTE format('ALTER TABLE breakstep.%I ENABLE ROW LEVEL SECURITY', of_what);
        EXECUTE format('CREATE POLICY own_club ON breakstep.%I USING (club = (SELECT breakstep.my_club()))', of_what);
    END LOOP;
END $$;
ALTER TABLE breakstep.clubs ENABLE ROW LEVEL SECURITY;
CREATE POLICY own_club ON breakstep.clubs USING (id = (SELECT breakstep.my_club()));
ALTER TABLE breakstep.members ENABLE ROW LEVEL SECURITY;

-- Who was erased is not brought again.
CREATE POLICY not_erased ON breakstep.athletes AS RESTRICTIVE FOR INSERT WITH CHECK (NOT EXISTS (
    SELECT FROM breakstep.erased WHERE erased.club = athletes.club AND erased.athlete = athletes.id));
CREATE POLICY not_erased ON breakstep.sessions AS RESTRICTIVE FOR INSERT WITH CHECK (NOT EXISTS (
    SELECT FROM breakstep.erased WHERE erased.club = sessions.club AND erased.athlete = sessions.athlete));
CREATE POLICY not_erased ON breakstep.measures AS RESTRICTIVE FOR INSERT WITH CHECK (NOT EXISTS (
    SELECT FROM breakstep.erased WHERE erased.club = measures.club AND erased.athlete = measures.athlete));

-- What a federation sees: figures of groups in which nobody can be picked out. No dates to choose: the difference of two
-- spans could be one athlete.
CREATE FUNCTION breakstep.groups() RETURNS TABLE (club text, training_group text, athletes bigint)
    LANGUAGE sql STABLE SECURITY DEFINER SET search_path = pg_catalog, pg_temp AS $$
    SELECT c.name, a.training_group, count(*) FROM breakstep.athletes a JOIN breakstep.clubs c ON c.id = a.club
        WHERE breakstep.i_may() = 'federation' AND EXISTS (
            SELECT FROM breakstep.sessions s WHERE s.club = a.club AND s.athlete = a.id)
        GROUP BY c.name, a.training_group HAVING count(*) >= 5 ORDER BY 1, 2 $$;

CREATE FUNCTION breakstep.group_figures(of_club text, of_group text)
    RETURNS TABLE (athletes bigint, sessions bigint, reps bigint, scored bigint, on_time bigint, windows bigint,
                   caught bigint, median_latency_ms double precision)
    LANGUAGE plpgsql STABLE SECURITY DEFINER SET search_path = pg_catalog, pg_temp AS $$
DECLARE whose bigint[]; own bigint;
BEGIN
    IF breakstep.i_may() IS DISTINCT FROM 'federation' THEN
        RAISE EXCEPTION 'figures of groups are for a federation' USING ERRCODE = 'insufficient_privilege';
    END IF;
    SELECT c.id INTO own FROM breakstep.clubs c WHERE c.name = of_club;
    SELECT array_agg(a.id) INTO whose FROM breakstep.athletes a WHERE a.club = own AND a.training_group = of_group
        AND EXISTS (SELECT FROM breakstep.sessions s WHERE s.club = own AND s.athlete = a.id);
    IF coalesce(cardinality(whose), 0) < 5 THEN
        RAISE EXCEPTION 'figures are given for groups of five athletes or more' USING ERRCODE = 'insufficient_privilege';
    END IF;
    RETURN QUERY SELECT cardinality(whose)::bigint, count(*), sum(t.reps)::bigint, sum(t.scored)::bigint,
            sum(t.on_time)::bigint, sum(t.windows)::bigint, sum(t.caught)::bigint,
            percentile_cont(0.5) WITHIN GROUP (ORDER BY t.median_latency_ms)
        FROM breakstep.sessions s JOIN breakstep.totals t ON t.club = s.club AND t.session = s.id
        WHERE s.club = own AND s.athlete = ANY (whose);
END $$;
REVOKE ALL ON FUNCTION breakstep.groups, breakstep.group_figures FROM PUBLIC;
GRANT EXECUTE ON FUNCTION breakstep.groups, breakstep.group_figures TO breakstep_federation;
)sql";

constexpr std::array<std::string_view, 2> all_steps{first, second};

constexpr std::int64_t half_year_seconds = 15'778'476;

}  // namespace

std::span<const std::string_view> server_steps() { return all_steps; }

std::int32_t term_of(std::int64_t unix_seconds) {
    return static_cast<std::int32_t>(std::clamp<std::int64_t>(unix_seconds / half_year_seconds, 0, 460));
}

}  // namespace breakstep::sharing
