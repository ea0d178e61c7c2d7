// Scoring a kept session again, and playing a capture again.
#include <algorithm>
#include <iostream>

#include "cli/session_setup.hpp"
#include "club/consent/consent_words.hpp"
#include "club/results/comparison.hpp"
#include "core/journal/codec.hpp"
#include "store/memory_journal.hpp"
#include "store/tonight.hpp"

namespace breakstep {
namespace {

// Rows of before the footing was kept hold none: then the journal alone knows it, and nothing differs. Damage to rows
// that hold one is `check`'s to find, by their sums.
std::vector<RepResult> with_footing_of(const std::vector<RepResult>& scored, std::vector<RepResult> kept) {
    const bool never_kept = std::all_of(
        kept.begin(), kept.end(), [](const RepResult& rep) { return rep.stood == Zone::unknown && rep.gave == 0; });
    if (!never_kept || kept.size() != scored.size()) return kept;
    for (std::size_t i = 0; i < kept.size(); ++i) {
        kept[i].stood = scored[i].stood;
        kept[i].gave = scored[i].gave;
    }
    return kept;
}

// Byte by byte: two records are the same only if all that was written is.
std::string bytes_of(const JournalRecord& record) {
    std::string bytes;
    ByteWriter writer(bytes);
    writer(record.position, record.recorded);
    encode(record.event, bytes);
    return bytes;
}

struct Rescored {
    SessionResults told;
    std::vector<RepResult> kept;
};

// Of whoever gave no consent nothing is shown, as everywhere; but for the evening's own file, which is for that.
Expected<void> may_be_shown(const Store& store, const SessionSummary& session) {
    if (is_tonight(store.path())) return {};
    const auto athletes = store.athletes();
    if (!athletes) return tl::make_unexpected(athletes.error());
    const std::string today = today_here();
    for (const Athlete& athlete : *athletes)
        if (athlete.id == session.athlete && !may_keep(athlete, today))
            return tl::make_unexpected(not_shown_error(athlete, today));
    return {};
}

Expected<Rescored> rescored(const Store& store, const SessionSummary& session) {
    Score score;
    std::vector<ScoreResult> results;
    Rescored again;
    SessionResults& told = again.told;
    std::vector<AthleteId> partners;
    const auto read = store.read_records(session.id, [&](const JournalRecord& record) {
        results.clear();
        score.fold(record, results);
        if (const auto* began = std::get_if<SessionBegan>(&record.event)) {
            told.title = began->drill.title;
            told.first_or_after = began->drill.asks.first_or_after;
            for (const Participant& each : began->participants)
                if (each.role == ParticipantRole::partner) partners.push_back(each.athlete);
        }
    });
    if (!read) return tl::make_unexpected(read.error());
    told.id = session.id;
    told.drill = session.drill;
    told.seed = session.seed;
    told.how = session.how;
    if (const auto athletes = store.athletes()) {
        for (const Athlete& athlete : *athletes) {
            if (athlete.id == session.athlete)
                told.athlete = athlete.call_sign;
            else if (std::find(partners.begin(), partners.end(), athlete.id) != partners.end() &&
                     (is_tonight(store.path()) || may_keep(athlete, today_here())))
                told.partner = athlete.call_sign;
        }
    }
    if (score.exchange() != nullptr) told.exchange = *score.exchange();
    told.reps = score.reps();
    told.totals = score.totals();
    auto kept = store.reps(session.id);
    if (!kept) return tl::make_unexpected(kept.error());
    again.kept = with_footing_of(told.reps, std::move(*kept));
    return again;
}

}  // namespace

int rescore(const CommonOptions& options, const std::string& typed) {
    const auto settings = load_settings(options.settings);
    if (!settings) return complain(settings.error());
    const auto store = open_store(options, *settings, StoreMode::read_only);
    if (!store) return complain(store.error());
    const auto session = (*store)->find_session(typed);
    if (!session) return complain(session.error());
    if (const auto may = may_be_shown(**store, *session); !may) return complain(may.error());
    const auto again = rescored(**store, *session);
    if (!again) return complain(again.error());
    print_results({again->told}, options.json);
    // The JSON stays one object: there the exit code says it.
    if (!options.json) std::cout << "compared: " << comparison_words(again->told.reps, again->kept) << '\n';
    if (again->told.reps == again->kept) return exit_done;
    return complain(
        {ErrorKind::damaged, "the kept reps of session " + id_text(session->id) + " differ from its journal",
         session->how ? "keep the store as it is and report this with it"
                      : "the session was cut off: the journal is what counts"},
        exit_failed);
}

int replay(const CommonOptions& options, const std::string& path) {
    std::optional<Engine> engine;
    MemoryJournal journal;
    EngineOutput out;
    std::vector<SessionId> sessions;
    const auto read = read_capture(
        path, [&](const EngineSettings& settings) { engine.emplace(settings); },
        [&](const EngineCall& call) {
            if (const auto* input = std::get_if<InputCall>(&call))
                if (const auto* restored = std::get_if<RestoreSession>(&input->input))
                    if (const auto* began = restored->records.empty()
                                                ? nullptr
                                                : std::get_if<SessionBegan>(&restored->records.front().event))
                        journal.append(began->session, restored->records);
            apply(*engine, call);
            out.clear();
            engine->drain(out);
            for (const AsideRecord& aside : out.aside_records) journal.append(aside.session, {&aside.record, 1});
            if (!out.session || out.records.empty()) return;
            if (std::find(sessions.begin(), sessions.end(), *out.session) == sessions.end())
                sessions.push_back(*out.session);
            journal.append(*out.session, out.records);
        });
    if (!read) return complain(read.error());
    const auto settings = load_settings(options.settings);
    if (!settings) return complain(settings.error());
    const auto store = open_store(options, *settings, StoreMode::read_only);
    if (!store) return complain(store.error());
    int code = exit_done;
    for (const SessionId session : sessions) {
        const auto& replayed = journal.sessions().at(session).records;
        std::size_t at = 0, differing = 0;
        const auto compared = (*store)->read_records(session, [&](const JournalRecord& record) {
            if (at >= replayed.size() || bytes_of(replayed[at]) != bytes_of(record)) ++differing;
            ++at;
        });
        if (!compared) return complain(compared.error());
        if (at != replayed.size()) ++differing;
        std::cout << "session " << id_text(session) << ": " << replayed.size() << " records replayed, "
                  << (differing == 0 ? "identical" : std::to_string(differing) + " differ") << '\n';
        if (differing != 0) code = exit_failed;
    }
    if (sessions.empty()) std::cout << "the capture holds no session\n";
    return code;
}

}  // namespace breakstep
