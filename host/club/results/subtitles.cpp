#include "club/results/subtitles.hpp"

#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include <algorithm>
#include <map>
#include <set>

#include "club/athletes/naming.hpp"
#include "club/results/results.hpp"
#include "core/score/score.hpp"

namespace breakstep {
namespace {

/// A caption stands so long, or until the next one.
constexpr Duration stands = 3s;

struct Timed {
    std::map<RepId, TargetTime> toe_offs;
    std::optional<TargetTime> mark;
    HostTimes times;
    Score score;
};

Expected<void> read_session(const Store& store, SessionId session, Timed& timed) {
    std::vector<ScoreResult> ignored;
    const auto read = store.read_records(session, [&](const JournalRecord& record) {
        timed.times.note(record);
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

/// The sessions that are meant, oldest first.
Expected<std::vector<SessionSummary>> meant(const Store& store, const std::string& of) {
    auto all = store.sessions();
    if (!all) return all;
    std::sort(all->begin(), all->end(), [](const SessionSummary& a, const SessionSummary& b) {
        return std::tuple(a.began_unix_seconds, a.number) < std::tuple(b.began_unix_seconds, b.number);
    });
    const bool is_day = of.size() == 10 && of[4] == '-' && of[7] == '-';
    if (!of.empty() && !is_day) {
        auto one = store.find_session(of);
        if (!one) return tl::make_unexpected(one.error());
        return std::vector<SessionSummary>{*one};
    }
    if (all->empty()) return failure(ErrorKind::not_found, "the store holds no session", "run a drill first");
    const std::string day = is_day ? of : local_date(all->back().began_unix_seconds);
    std::erase_if(*all, [&](const SessionSummary& each) { return local_date(each.began_unix_seconds) != day; });
    if (all->empty()) return failure(ErrorKind::not_found, "there is no session of " + day, "name another day");
    return all;
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

Expected<std::vector<Caption>> captions_of(const Store& store, const std::string& of) {
    const auto sessions = meant(store, of);
    if (!sessions) return tl::make_unexpected(sessions.error());
    const auto athletes = store.athletes();
    if (!athletes) return tl::make_unexpected(athletes.error());
    std::vector<Caption> captions;
    std::optional<HostTime> flash;
    for (const SessionSummary& session : *sessions) {
        Timed timed;
        if (const auto read = read_session(store, session.id, timed); !read) return tl::make_unexpected(read.error());
        // Each flash is a film's new beginning where several drills were run one by one; of an evening there is one.
        if (timed.mark && (!flash || sessions->size() == 1)) flash = timed.times.host_time(*timed.mark);
        if (!flash) continue;
        for (const RepResult& rep : timed.score.reps()) {
            const auto toe_off = timed.toe_offs.find(rep.rep);
            if (!is_told(rep) || toe_off == timed.toe_offs.end()) continue;
            const auto at = timed.times.host_time(toe_off->second);
            if (!at) continue;
            Caption caption;
            caption.from = *at - *flash;
            caption.athlete = session.athlete ? call_sign_of(*athletes, *session.athlete) : "nobody";
            caption.drill = session.drill;
            caption.set = rep.set + 1;
            caption.number = rep.number;
            caption.rep = rep.rep;
            caption.session = session.id;
            caption.words = rep.catch_trial && rep.telegraphed ? "a lean, and nothing came: " + words_of_verdict(rep)
                                                               : words_of_verdict(rep);
            captions.push_back(std::move(caption));
        }
    }
    if (!flash)
        return failure(ErrorKind::not_found, "no flash opened what is meant, so its reps have no time in a video",
                       "sessions open with a flash and a click from now on: film the next one");
    std::stable_sort(captions.begin(), captions.end(),
                     [](const Caption& a, const Caption& b) { return a.from < b.from; });
    for (std::size_t i = 0; i < captions.size(); ++i) {
        captions[i].until = captions[i].from + stands;
        if (i + 1 < captions.size()) captions[i].until = std::min(captions[i].until, captions[i + 1].from);
    }
    return captions;
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
