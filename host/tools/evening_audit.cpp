#include "tools/evening_audit.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <set>

#include "core/evening/dose.hpp"
#include "core/trade/rules.hpp"

namespace breakstep {
namespace {

using namespace evening;

using Blow = std::pair<BootId, std::uint16_t>;

struct Span {
    HostTime from, to;
};

struct SetMade {
    SessionId session{};
    AthleteId athlete{};
    std::int32_t set = 0;
    HostTime count, end;
};

struct Held {
    SessionId session{};  ///< 0: the evening's own journal
    AthleteId athlete{};
};

struct Night {
    std::vector<EveningRecord> records;
    std::vector<SetMoved> moved;
    std::map<AthleteId, std::int32_t> ages;
    std::map<Blow, std::vector<Held>> blows;
    std::vector<SetMade> sets;
    std::map<SessionId, SessionBegan> sessions;
    std::map<SessionId, std::vector<JournalRecord>> journals;
    HostTime zero;
};

double ms(Duration duration) { return static_cast<double>(duration.count()) / 1e6; }

Expected<void> read_evening(const Store& store, EveningId id, Night& night) {
    const auto read = store.read_evening(id, [&](const EveningRecord& record) {
        night.records.push_back(record);
        if (const auto* came = std::get_if<AthleteCame>(&record.event)) night.ages[came->athlete] = came->age;
        if (const auto* moved = std::get_if<SetMoved>(&record.event)) night.moved.push_back(*moved);
        const auto* kept = std::get_if<KeptOutside>(&record.event);
        if (kept == nullptr) return;
        const auto event = breakstep::decode(kept->event, kept->bytes);
        if (!event) return;
        if (const auto* hit = std::get_if<PadHit>(&*event)) night.blows[{hit->at.boot(), hit->sequence}].push_back({});
    });
    if (!read) return tl::make_unexpected(read.error());
    return {};
}

// A session's blows and sets, stretch by stretch: what was moved to another session stands there.
void take_session(const SessionBegan& began, const std::vector<JournalRecord>& records, Night& night) {
    std::vector<std::pair<Blow, TargetTime>> stretch;
    std::vector<SetMade> sets;
    bool moved = false;
    std::optional<HostTime> count;
    const auto stretch_over = [&] {
        if (!moved) {
            for (const auto& [blow, at] : stretch) night.blows[blow].push_back({began.session, began.athlete});
            night.sets.insert(night.sets.end(), sets.begin(), sets.end());
        }
        stretch.clear();
        sets.clear();
        moved = false;
    };
    for (const JournalRecord& record : records) {
        if (std::holds_alternative<SessionResumed>(record.event)) stretch_over();
        for (const SetMoved& each : night.moved)
            if (each.session == began.session && each.first == record.position) moved = true;
        if (const auto* hit = std::get_if<PadHit>(&record.event))
            stretch.push_back({Blow{hit->at.boot(), hit->sequence}, hit->at});
        if (const auto* struck = std::get_if<StartStruck>(&record.event)) {
            count = record.recorded + after_start_strike;
            // What was struck before its set began is kept, and counts for nobody.
            for (const auto& [blow, at] : stretch)
                if (!at.same_boot(struck->at) || at < struck->at) night.blows[blow].push_back({});
            std::erase_if(stretch, [&](const auto& each) {
                return !each.second.same_boot(struck->at) || each.second < struck->at;
            });
        }
        if (const auto* ended = std::get_if<SetEnded>(&record.event); ended != nullptr && !ended->cancelled && count)
            sets.push_back({began.session, began.athlete, ended->set, *count, record.recorded});
    }
    stretch_over();
}

Expected<void> read_sessions(const Store& store, EveningId id, Night& night) {
    const auto all = store.sessions();
    if (!all) return tl::make_unexpected(all.error());
    for (const SessionSummary& summary : *all) {
        std::optional<SessionBegan> began;
        std::vector<JournalRecord> records;
        const auto read = store.read_records(summary.id, [&](const JournalRecord& record) {
            if (const auto* first = std::get_if<SessionBegan>(&record.event)) began = *first;
            if (began && began->evening == id) records.push_back(record);
        });
        if (!read) return tl::make_unexpected(read.error());
        if (!began || began->evening != id) continue;
        take_session(*began, records, night);
        night.sessions[summary.id] = *began;
        night.journals[summary.id] = std::move(records);
    }
    std::sort(night.sets.begin(), night.sets.end(),
              [](const SetMade& a, const SetMade& b) { return a.count < b.count; });
    return {};
}

AthleteId stood_at(const Witnessed& seen, HostTime at) {
    AthleteId there{};
    for (const auto& [from, athlete] : seen.stood)
        if (from <= at) there = athlete;
    return there;
}

void hold_blows_against_truth(const Night& night, const Witnessed& seen, EveningFigures& figures) {
    for (const PlantedStrike& strike : seen.strikes) {
        const auto found = night.blows.find({strike.boot, strike.sequence});
        if (found == night.blows.end()) {
            ++figures.lost;
            continue;
        }
        figures.doubled += static_cast<std::int32_t>(found->second.size()) - 1;
        for (const Held& place : found->second)
            if (place.session != SessionId{} && place.athlete != strike.by) ++figures.given_to_another;
    }
    for (const SetMade& set : night.sets)
        if (stood_at(seen, set.count) != set.athlete) ++figures.given_to_another;
}

// A set that ended has all its numbers, but for what the coach took out.
Expected<void> count_reps(const Store& store, const Night& night, EveningFigures& figures) {
    std::map<SessionId, std::vector<RepResult>> reps;
    for (const auto& [id, began] : night.sessions) {
        auto kept = store.reps(id);
        if (!kept) return tl::make_unexpected(kept.error());
        reps[id] = std::move(*kept);
    }
    for (const SetMade& set : night.sets) {
        std::set<std::int32_t> numbers;
        std::int32_t taken_out = 0;
        for (const RepResult& rep : reps[set.session]) {
            if (rep.set != set.set || rep.catch_trial) continue;
            if (rep.verdict != Verdict::void_rep)
                numbers.insert(rep.number);
            else if (rep.void_reason == VoidReason::coach || rep.void_reason == VoidReason::other_athlete)
                ++taken_out;
        }
        const auto made = static_cast<std::int32_t>(numbers.size());
        figures.reps += made;
        figures.lost += std::max(0, night.sessions.at(set.session).drill.reps - made - taken_out);
    }
    return {};
}

void count_rests(const Night& night, EveningFigures& figures) {
    std::map<AthleteId, const SetMade*> before;
    for (const SetMade& set : night.sets) {
        if (const auto found = before.find(set.athlete); found != before.end()) {
            const SetMade& last = *found->second;
            const auto age = night.ages.find(set.athlete);
            const Duration due = rest_after(last.end - last.count, age == night.ages.end() ? 0 : age->second);
            if (set.count - last.end < due) ++figures.work_rest_broken;
        }
        before[set.athlete] = &set;
    }
}

Duration overlap(const Span& a, const Span& b) {
    return std::max(Duration{}, std::min(a.to, b.to) - std::max(a.from, b.from));
}

// The rounds' time without pauses and without a rig, and how much of it a set took.
void measure_rig(const Night& night, EveningFigures& figures) {
    std::vector<Span> rounds, out;
    std::optional<HostTime> round, pause, away;
    std::vector<Block> blocks;
    Duration last{};
    for (const EveningRecord& record : night.records) {
        const HostTime at = night.zero + record.at;
        last = record.at;
        if (const auto* began = std::get_if<EveningBegan>(&record.event)) blocks = began->blocks;
        const auto* block = std::get_if<BlockBegan>(&record.event);
        const bool ends = std::holds_alternative<EveningEnded>(record.event);
        if ((block != nullptr || ends) && round) rounds.push_back({*std::exchange(round, std::nullopt), at});
        if (block != nullptr && blocks[static_cast<std::size_t>(block->block)].kind == BlockKind::rounds) round = at;
        if (const auto* asked = std::get_if<Asked>(&record.event); asked && asked->answer.kind == AnswerKind::taken) {
            if (asked->request.what == Ask::pause) pause = at;
            if (asked->request.what == Ask::go_on && pause) out.push_back({*std::exchange(pause, std::nullopt), at});
        }
        if (const auto* seen = std::get_if<RigSeen>(&record.event)) {
            if (!seen->here && !away) away = at;
            if (seen->here && away) out.push_back({*std::exchange(away, std::nullopt), at});
        }
        if (std::holds_alternative<TurnCalled>(record.event)) ++figures.turns;
    }
    for (const Block& block : blocks) figures.minutes_planned += ms(block.length) / 60'000;
    figures.minutes_taken = ms(last) / 60'000;
    const auto counted = [&](const Span& span) {
        Duration length = span.to - span.from;
        for (const Span& each : out) length -= overlap(span, each);
        return length;
    };
    Duration time{}, busy{};
    for (const Span& each : rounds) {
        time += counted(each);
        for (const SetMade& set : night.sets) {
            const Span part{std::max(set.count, each.from), std::min(set.end, each.to)};
            if (part.from < part.to) busy += counted(part);
        }
    }
    if (time > Duration{})
        figures.rig_busy_share = static_cast<double>(busy.count()) / static_cast<double>(time.count());
}

// The first blow of a rep's stretch that fits its result, in true time.
std::optional<HostTime> struck_at(const RepResult& rep, const std::vector<JournalRecord>& journal,
                                  const std::map<Blow, HostTime>& truths) {
    std::optional<TargetTime> toe_off;
    for (const JournalRecord& record : journal)
        if (const auto* began = std::get_if<PhaseBegan>(&record.event);
            began != nullptr && began->rep == rep.rep && began->index == 0)
            toe_off = began->at;
    if (!toe_off || !rep.contact_from_onset) return std::nullopt;
    constexpr Duration near_enough = 2ms;  // ticks against seconds
    for (const JournalRecord& record : journal) {
        const auto* hit = std::get_if<PadHit>(&record.event);
        if (hit == nullptr || !hit->at.same_boot(*toe_off)) continue;
        const Duration off = hit->at - *toe_off - *rep.contact_from_onset;
        if (off > near_enough || off < -near_enough) continue;
        const auto truth = truths.find({hit->at.boot(), hit->sequence});
        if (truth != truths.end()) return truth->second;
    }
    return std::nullopt;
}

Expected<void> measure_words(const Store& store, const Night& night, const Witnessed& seen, EveningFigures& figures) {
    std::map<Blow, HostTime> truths;
    for (const PlantedStrike& strike : seen.strikes) truths[{strike.boot, strike.sequence}] = strike.at;
    std::map<std::pair<SessionId, RepId>, HostTime> drawn;
    for (const WordShown& word : seen.words) drawn.try_emplace({word.session, word.rep}, word.drawn);
    std::set<SessionId> counted;
    for (const SetMade& set : night.sets) counted.insert(set.session);
    for (const SessionId id : counted) {
        const SessionBegan& began = night.sessions.at(id);
        const auto reps = store.reps(id);
        if (!reps) return tl::make_unexpected(reps.error());
        for (const RepResult& rep : *reps) {
            if (rep.catch_trial || !rep.contact_from_onset || rep.verdict == Verdict::void_rep) continue;
            const bool silent = began.feedback == Feedback::silent_first && rep.set == 0;
            if (silent) {
                ++figures.words_silent;
                continue;
            }
            const bool at_once = began.feedback != Feedback::at_close && *rep.contact_from_onset >= -began.drill.lead;
            if (!at_once) ++figures.words_later;
            const auto shown = drawn.find({id, rep.rep});
            const auto struck = struck_at(rep, night.journals.at(id), truths);
            if (at_once && shown != drawn.end() && struck) figures.word_ms.push_back(ms(shown->second - *struck));
        }
    }
    return {};
}

void measure_clicks(const Night& night, const Witnessed& seen, EveningFigures& figures) {
    std::optional<HostTime> last;
    for (const PlantedStrike& strike : seen.strikes) {
        const bool merged = last && strike.at - *last < 10ms;
        last = strike.at;
        if (merged) continue;
        const bool in_set = std::any_of(night.sets.begin(), night.sets.end(), [&](const SetMade& set) {
            // From the first plan on: the strike that starts a set is answered by the count.
            return strike.at > set.count + 2100ms && strike.at < set.end;
        });
        const auto click = std::lower_bound(seen.clicks.begin(), seen.clicks.end(), strike.at);
        if (in_set && click != seen.clicks.end()) figures.click_ms.push_back(ms(*click - strike.at));
    }
}

}  // namespace

std::optional<double> percentile(std::vector<double> values, double share) {
    if (values.empty()) return std::nullopt;
    std::sort(values.begin(), values.end());
    const auto rank = static_cast<std::size_t>(std::ceil(share * static_cast<double>(values.size())));
    return values[std::clamp<std::size_t>(rank, 1, values.size()) - 1];
}

Expected<EveningFigures> audit_evening(const Store& store, EveningId id, const Witnessed& seen) {
    Night night;
    if (const auto read = read_evening(store, id, night); !read) return tl::make_unexpected(read.error());
    if (const auto read = read_sessions(store, id, night); !read) return tl::make_unexpected(read.error());

    night.zero = seen.began;
    EveningFigures figures;
    figures.athletes = static_cast<std::int32_t>(night.ages.size());
    figures.sets = static_cast<std::int32_t>(night.sets.size());
    hold_blows_against_truth(night, seen, figures);
    if (const auto counted = count_reps(store, night, figures); !counted) return tl::make_unexpected(counted.error());
    count_rests(night, figures);
    measure_rig(night, figures);
    if (const auto measured = measure_words(store, night, seen, figures); !measured)
        return tl::make_unexpected(measured.error());
    measure_clicks(night, seen, figures);
    return figures;
}

}  // namespace breakstep
