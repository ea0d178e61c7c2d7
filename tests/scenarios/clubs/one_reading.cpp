// What a club keeps is read through one interface, from a store and from a server. Every function of it is asked of
// both here, of the same sessions.
#include "club/sharing/server_kept.hpp"
#include "support/clubs_tests.hpp"

using namespace breakstep;
using namespace breakstep::testing;

namespace {

/// What a place says of its sessions, by what is the same in every place: numbers are each place's own.
struct SaidOfSession {
    SessionSummary summary;
    std::string records;
    std::vector<RepResult> reps;
    std::optional<SessionTotals> totals;
    bool operator==(const SaidOfSession&) const = default;
};

template <class T>
T must_give(Expected<T> given) {
    const std::string why = given ? "" : given.error().text();
    REQUIRE_MESSAGE(given.has_value(), why);
    return std::move(*given);
}

std::map<SessionId, SaidOfSession> sessions_of(const Kept& kept) {
    std::map<SessionId, SaidOfSession> all;
    for (const SessionSummary& session : must_give(kept.sessions())) {
        SaidOfSession& said = all[session.id];
        said.summary = session;
        said.summary.number = 0;
        const auto count = must_give(kept.read_records(session.id, [&](const JournalRecord& record) {
            said.records += fmt::format("{} {} {} ", record.position, record.recorded.time_since_epoch().count(),
                                        kind_of(record.event));
            encode(record.event, said.records);
        }));
        CHECK(count == session.events);
        said.reps = must_give(kept.reps(session.id));
        CHECK(static_cast<std::int64_t>(said.reps.size()) == session.reps);
        said.totals = must_give(kept.totals(session.id));
    }
    return all;
}

/// A term as the fold is given it, session by session, by id.
std::vector<std::string> term_of(const Kept& kept) {
    std::map<std::int64_t, SessionId> ids;
    for (const SessionSummary& session : must_give(kept.sessions())) ids.emplace(session.number, session.id);
    std::vector<std::string> said;
    for (const TermSession& session : must_give(kept.term_sessions()))
        said.push_back(fmt::format(
            "{} {} {} {} {} {} {} {} hits {} wealth {}", static_cast<std::uint64_t>(ids.at(session.number)),
            session.athlete ? static_cast<std::uint64_t>(*session.athlete) : 0, session.began_unix_seconds,
            session.drill, word(session.start), word(session.stance), word(session.level), session.test,
            session.hits ? fmt::format("{} {} {}", session.hits->scored, session.hits->hits, session.hits->chance)
                         : "none",
            session.wealth.value_or(-1)));
    must_give(kept.read_rep_facts([&](std::int64_t number, const progress::RepFact& rep) {
        said.push_back(fmt::format(
            "{} {} {} {} {} {} {} {} {} {} {} {} {} {} {} {} {} {} {} {}", static_cast<std::uint64_t>(ids.at(number)),
            rep.set, rep.number, word(rep.kind), word(rep.moment), word(rep.counter), word(rep.start),
            word(rep.verdict), rep.scored, rep.catch_trial, rep.contacted, rep.retreated, rep.voided_by_coach,
            rep.latency_ms.value_or(-1), rep.error_ms.value_or(-1), rep.moments, rep.window, rep.counts,
            rep.rung_hit ? (*rep.rung_hit ? "done" : "not done") : "as the verdict", rep.struck_in_wait));
    }));
    return said;
}

void expect_the_same(const Kept& a, const Kept& b) {
    CHECK(sessions_of(a) == sessions_of(b));
    CHECK(term_of(a) == term_of(b));
    CHECK(must_give(a.athletes()) == must_give(b.athletes()));
    CHECK(must_give(a.measures()) == must_give(b.measures()));
    for (const char* call_sign : {"Bird 101", "bird 101", "BIRD 104", "Bird 999", "Éider", "éider", ""})
        CHECK_MESSAGE(must_give(a.find_athlete(call_sign)) == must_give(b.find_athlete(call_sign)), call_sign);
    const SessionId nobody{12345};
    CHECK(must_give(a.read_records(nobody, [](const JournalRecord&) { FAIL("of no session"); })) ==
          must_give(b.read_records(nobody, [](const JournalRecord&) { FAIL("of no session"); })));
    CHECK(must_give(a.reps(nobody)) == must_give(b.reps(nobody)));
    CHECK(must_give(a.totals(nobody)) == must_give(b.totals(nobody)));
}

/// A session with every odd thing in it: a void rep of the coach's, one with no contact, odd bytes, no end, an early
/// beginning.
void add_odd_session(Store& store, AthleteId athlete) {
    SessionBegan began;
    began.session = SessionId{0xfedcba9876543210ULL};
    began.athlete = athlete;
    began.unix_seconds = 1'700'000'000;
    began.seed = 0xffffffffffffffffULL;
    began.drill.name = "tab\there, back\\slash, 'quotes\", \nline";
    const JournalRecord first{0, HostTime(0ns), began};
    const JournalRecord second{1, HostTime(-5ns), UnknownEvent{901, std::string("\0\xff\\N\t\n", 6)}};
    store.append(began.session, std::vector{first, second});
    Random random(9);
    RepResult rep = planted_rep(0, 3, 1, random);
    rep.window = 0.625;
    rep.counts = true;
    rep.rung_hit = false;
    rep.contact_from_onset = -3s;
    store.keep(began.session, rep);
    // Of a partner: held back from what was asked as a kick and came as a feint.
    rep.rep = RepId{3};
    rep.asked.kind = AttackKind::single;
    rep.came = CameKind::feint;
    rep.rung_hit.reset();
    store.keep(began.session, rep);
    rep = RepResult{};
    rep.rep = RepId{1};
    rep.verdict = Verdict::void_rep;
    rep.void_reason = VoidReason::coach;
    store.keep(began.session, rep);
    rep.rep = RepId{2};
    rep.void_reason = VoidReason::link_lost;
    store.keep(began.session, rep);
}

}  // namespace

TEST_CASE("a store and the server that it was shared with say the same of everything") {
    const ClubServer server;
    const Room room;
    prepare(room, server);
    PlantedTerm term;
    term.athletes = 5;
    term.sessions = 4;
    term.reps = 12;
    plant_shared(room.file("a.db"), term);
    {
        const auto store = opened(room.file("a.db"), StoreMode::inline_writes);
        Athlete eider;
        eider.id = AthleteId{0xf00000000000000fULL};
        eider.call_sign = "Éider";
        eider.notes = "tab\t, back\\slash, line\nand \\N";
        eider.lead = Side::left;
        eider.birth_year = 2001;
        eider.consent = Consent{"2020-01-01", "herself", "2199-12-31"};
        eider.consent_share_on = "2020-01-01";
        must(store->add_athlete(eider));
        add_odd_session(*store, eider.id);
        const std::vector<Measure> measures{{eider.id, "reaction_ms", "2020-02-03", 0.1 + 0.2},
                                            {eider.id, "Reaction_ms", "2020-02-03", -1e-300},
                                            {store->athletes().value().front().id, "jump", "2020-02-03", 31}};
        must(store->add_all({}, measures));
        must(store->close());
    }
    CHECK(run_json(room, "share --store a.db --to " + server.url("saltmarsh")).at("sessions") == 21);
    const auto store = opened(room.file("a.db"));
    const auto there = must_give(sharing::ServerKept::open(must_give(sharing::server_url(server.url("saltmarsh")))));
    CHECK(must_give(there->sessions()).size() == 21);
    CHECK(must_give(there->measures()).size() == 3);
    CHECK(must_give(there->athletes()).size() == 6);
    CHECK(term_of(*there).size() == 21 + 4 * 5 * 12 + 4);
    expect_the_same(*store, *there);
    // And of another laptop that fetched it, where the numbers are others.
    must_run(room, "fetch --store b.db --from " + server.url("saltmarsh"));
    const auto fetched = opened(room.file("b.db"));
    CHECK(fetched->sessions().value().front().id != store->sessions().value().front().id);
    expect_the_same(*fetched, *there);
    expect_the_same(*fetched, *store);
}
