#include "club/results/subtitles.hpp"

#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include <algorithm>
#include <map>
#include <set>
#include <tuple>

#include "club/athletes/naming.hpp"
#include "club/results/results.hpp"
#include "core/score/score.hpp"

namespace breakstep {
namespace {

/// A caption stands so long, or until the next one.
constexpr Duration stands = 3s;

struct Timed {
    std::map<RepId, TargetTime> toe_offs;
    std::optional<HostTime> first;  ///< when its first record was made
    std::optional<TargetTime> mark;
    HostTimes times;
    Score score;
};

Expected<void> read_session(const Store& store, SessionId session, Timed& timed) {
    std::vector<ScoreResult> ignored;
    const auto read = store.read_records(session, [&](const JournalRecord& record) {
        timed.times.note(record);
        if (!timed.first) timed.first = record.recorded;
        ignored.clear();
        timed.score.fold(record, ignored);
        if (const auto* mark = std::get_if<VideoMark>(&record.event)) timed.mark = mark->at;
        if (const auto* opened = std::get_if<RepOpened>(&record.event)) {
            // A catch trial has no toe-off: told is where it began, of a lie the moment in which it leaned.
            timed.toe_offs[opened->rep] = opened->catch_trial && opened->telegraphed ? opened->lean : opened->onset;
        }
        if (const auto* began = std::get_if<PhaseBegan>(&record.event))
            if (began->index == 0) timed.toe_offs[began->rep] = began->at;
    });
    if (!read) return tl::make_unexpected(read.error());
    return {};
}

/// What is meant: the sessions of a day, oldest first, and perhaps one of them alone.
struct Meant {
    std::vector<SessionSummary> sessions;
    std::optional<SessionId> only;
};

Expected<Meant> meant(const Store& store, const std::string& of) {
    auto all = store.sessions();
    if (!all) return tl::make_unexpected(all.error());
    if (all->empty()) return failure(ErrorKind::not_found, "the store holds no session", "run a drill first");
    std::sort(all->begin(), all->end(), [](const SessionSummary& a, const SessionSummary& b) {
        return std::tuple(a.began_unix_seconds, a.number) < std::tuple(b.began_unix_seconds, b.number);
    });
    const bool is_day = of.size() == 10 && of[4] == '-' && of[7] == '-';
    Meant found;
    std::string day = is_day ? of : local_date(all->back().began_unix_seconds);
    if (!of.empty() && !is_day) {
        const auto one = store.find_session(of);
        if (!one) return tl::make_unexpected(one.error());
        found.only = one->id;
        day = local_date(one->began_unix_seconds);
    }
    std::erase_if(*all, [&](const SessionSummary& each) { return local_date(each.began_unix_seconds) != day; });
    if (all->empty()) return failure(ErrorKind::not_found, "there is no session of " + day, "name another day");
    found.sessions = std::move(*all);
    return found;
}

/// A film goes from its flash to the next one's.
struct Opened {
    HostTime flash{}, first{};
    std::int64_t unix_seconds = 0;
};

/// Whether the computer was started anew (or slept) since the flash: its clock then lags behind the time of day, and
/// what it says is no time in the film.
bool lost_count(const Opened& film, const SessionSummary& session, const Timed& timed) {
    constexpr Duration most = 120s;
    const auto by_day = std::chrono::seconds(session.began_unix_seconds - film.unix_seconds);
    return !timed.first || *timed.first - film.first < by_day - most;
}

bool is_told(const RepResult& rep) { return !rep.catch_trial || rep.contacted || rep.telegraphed; }

std::string call_sign_of(const std::vector<Athlete>& athletes, AthleteId id) {
    for (const Athlete& each : athletes)
        if (each.id == id) return shown(each);
    return "nobody";
}

std::string clock(Duration time, char before_thousandths) {
    const auto ms = std::chrono::round<std::chrono::milliseconds>(std::max(time, Duration{})).count();
    return fmt::format("{:02}:{:02}:{:02}{}{:03}", ms / 3'600'000, ms / 60'000 % 60, ms / 1000 % 60, before_thousandths,
                       ms % 1000);
}

std::string line_of(const Caption& caption) {
    return fmt::format("{}, set {} rep {}: {}", caption.athlete, caption.set, caption.number, caption.words);
}

/// What would end a caption or be taken for markup.
std::string plain(std::string text) {
    for (char& each : text)
        if (each == '\n' || each == '\r' || each == '<' || each == '>' || each == '&') each = ' ';
    return text;
}

}  // namespace

void HostTimes::note(const JournalRecord& record) {
    const auto arrived = [&](TargetTime at) { arrivals_.push_back({at, record.recorded}); };
    if (const auto* hit = std::get_if<PadHit>(&record.event)) arrived(hit->at);
    if (const auto* edge = std::get_if<GateEdge>(&record.event)) arrived(edge->at);
    if (const auto* lamps = std::get_if<LampsSet>(&record.event)) arrived(lamps->at);
    if (const auto* rate = std::get_if<ClockRate>(&record.event)) rate_ = *rate;
}

std::optional<HostTime> HostTimes::host_time(TargetTime at) const {
    const bool known = rate_ && rate_->boot == at.boot();
    const double scale = 1 + (known ? static_cast<double>(rate_->ppb) * 1e-9 : 0);
    std::optional<HostTime> earliest;
    for (const Arrival& arrival : arrivals_) {
        if (!arrival.at.same_boot(at)) continue;
        const Duration since = at - arrival.at;
        const HostTime then =
            arrival.arrived + Duration(static_cast<std::int64_t>(static_cast<double>(since.count()) * scale));
        if (!earliest || then < *earliest) earliest = then;
    }
    return earliest;
}

namespace {

void add_captions(std::vector<Caption>& captions, const SessionSummary& session, const Timed& timed, HostTime flash,
                  const std::string& call_sign) {
    for (const RepResult& rep : timed.score.reps()) {
        const auto toe_off = timed.toe_offs.find(rep.rep);
        if (!is_told(rep) || toe_off == timed.toe_offs.end()) continue;
        const auto at = timed.times.host_time(toe_off->second);
        if (!at) continue;
        Caption caption;
        caption.from = *at - flash;
        caption.athlete = call_sign;
        caption.drill = session.drill;
        caption.set = rep.set + 1;
        caption.number = rep.number;
        caption.rep = rep.rep;
        caption.session = session.id;
        caption.is_void = rep.verdict == Verdict::void_rep;
        caption.words = rep.catch_trial && rep.telegraphed ? "a lean, and nothing came: " + words_of_verdict(rep)
                                                           : words_of_verdict(rep);
        captions.push_back(std::move(caption));
    }
}

/// In order, each until the next one's begin. Of a set that was somebody else's the reps stand twice, void for the one
/// and told of the other: once is enough.
void put_in_order(std::vector<Caption>& captions) {
    std::stable_sort(captions.begin(), captions.end(), [](const Caption& a, const Caption& b) {
        return std::tuple(a.from, a.is_void) < std::tuple(b.from, b.is_void);
    });
    const auto same = [](const Caption& a, const Caption& b) { return b.is_void && b.from - a.from < 1ms; };
    captions.erase(std::unique(captions.begin(), captions.end(), same), captions.end());
    for (std::size_t i = 0; i < captions.size(); ++i) {
        captions[i].until = captions[i].from + stands;
        if (i + 1 < captions.size()) captions[i].until = std::min(captions[i].until, captions[i + 1].from);
    }
}

}  // namespace

Expected<Film> captions_of(const Store& store, const std::string& of) {
    const auto wanted = meant(store, of);
    if (!wanted) return tl::make_unexpected(wanted.error());
    const auto athletes = store.athletes();
    if (!athletes) return tl::make_unexpected(athletes.error());
    Film film;
    std::optional<Opened> opened;
    for (const SessionSummary& session : wanted->sessions) {
        Timed timed;
        if (const auto read = read_session(store, session.id, timed); !read) return tl::make_unexpected(read.error());
        const auto flash = timed.mark ? timed.times.host_time(*timed.mark) : std::nullopt;
        if (flash) {
            if (opened) ++film.earlier;
            film.captions.clear();
            film.untimed = 0;
            opened = Opened{*flash, timed.first.value_or(*flash), session.began_unix_seconds};
        }
        const bool is_meant = !wanted->only || session.id == *wanted->only;
        if (opened && is_meant) {
            if (lost_count(*opened, session, timed))
                film.untimed += timed.score.reps().size();
            else
                add_captions(film.captions, session, timed, opened->flash,
                             session.athlete ? call_sign_of(*athletes, *session.athlete) : "nobody");
        }
        if (wanted->only && is_meant) break;
    }
    if (wanted->only) film.earlier = 0;
    if (!opened)
        return failure(ErrorKind::not_found, "no flash opened what is meant, so its reps have no time in a video",
                       "sessions open with a flash and a click from now on: film the next one");
    put_in_order(film.captions);
    return film;
}

// SubRip has no standard; this is what players read: a number, times with a comma, the words, an empty line.
std::string as_srt(const std::vector<Caption>& captions) {
    std::string text;
    for (std::size_t i = 0; i < captions.size(); ++i)
        text += fmt::format("{}\n{} --> {}\n{}\n\n", i + 1, clock(captions[i].from, ','), clock(captions[i].until, ','),
                            plain(line_of(captions[i])));
    return text;
}

// W3C, WebVTT: The Web Video Text Tracks Format (Candidate Recommendation 2019), 4.1.
std::string as_webvtt(const std::vector<Caption>& captions) {
    std::string text = "WEBVTT\n\n";
    for (const Caption& caption : captions)
        text += fmt::format("{} --> {}\n{}\n\n", clock(caption.from, '.'), clock(caption.until, '.'),
                            plain(line_of(caption)));
    return text;
}

std::string as_list(const std::vector<Caption>& captions) {
    std::string text = "from the flash, by the rig's stamps\n";
    for (const Caption& caption : captions)
        text += fmt::format("{}  {:<12} set {} rep {:>2}  {}\n", clock(caption.from, '.'), caption.athlete, caption.set,
                            caption.number, caption.words);
    return text;
}

std::string as_json(const std::vector<Caption>& captions) {
    nlohmann::ordered_json list = nlohmann::ordered_json::array();
    for (const Caption& caption : captions)
        list.push_back({{"from_s", static_cast<double>(caption.from.count()) * 1e-9},
                        {"athlete", caption.athlete},
                        {"drill", caption.drill},
                        {"session", id_text(caption.session)},
                        {"rep", static_cast<std::int32_t>(caption.rep)},
                        {"set", caption.set},
                        {"number", caption.number},
                        {"words", caption.words}});
    return nlohmann::ordered_json{{"captions", std::move(list)}}.dump() + "\n";
}

}  // namespace breakstep
