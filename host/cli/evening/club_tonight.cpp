#include "cli/evening/club_tonight.hpp"

#include <algorithm>

#include "club/athletes/naming.hpp"
#include "core/evening/dose.hpp"
#include "core/trade/junior.hpp"

namespace breakstep {

using namespace evening;

namespace {

// The count, and the strike before it.
constexpr Duration before_set = 2600ms;

// "under 150", "150-160 cm", "tall": by the first number in it; without one after those, by their letters.
double first_number(const std::string& band) {
    const auto digit = std::find_if(band.begin(), band.end(), [](char c) { return c >= '0' && c <= '9'; });
    return digit == band.end() ? 1e9 : std::strtod(&*digit, nullptr);
}

}  // namespace

ClubTonight::ClubTonight(const Settings& settings, std::vector<Drill> drills)
    : club_(settings.club), drills_(std::move(drills)) {}

void ClubTonight::add(Attending attending) {
    const auto same = std::find_if(attending_.begin(), attending_.end(),
                                   [&](const Attending& each) { return each.athlete.id == attending.athlete.id; });
    if (same != attending_.end())
        *same = std::move(attending);
    else
        attending_.push_back(std::move(attending));
}

void ClubTonight::stands_at(std::int32_t height_order, const std::string& band) {
    const std::lock_guard lock(heights_lock_);
    if (height_order > 0 && !band.empty()) heights_.emplace(height_order, band);
}

// By centimetres, so that who comes late stands between those who are there; what is no number comes last.
std::int32_t ClubTonight::height_order(const std::string& band) const {
    constexpr std::int32_t without_number = 1'000'000;
    if (band.empty()) return 0;
    const std::lock_guard lock(heights_lock_);
    for (const auto& [order, known] : heights_)
        if (known == band) return order;
    const double number = first_number(band);
    std::int32_t order =
        number > 0 && number < without_number ? std::max(1, static_cast<std::int32_t>(number)) : without_number;
    while (heights_.count(order) != 0) ++order;
    heights_.emplace(order, band);
    return order;
}

const Attending* ClubTonight::find(AthleteId id) const {
    const auto found = std::find_if(attending_.begin(), attending_.end(),
                                    [id](const Attending& each) { return each.athlete.id == id; });
    return found == attending_.end() ? nullptr : &*found;
}

const Drill* ClubTonight::drill(const std::string& name) const {
    const auto found =
        std::find_if(drills_.begin(), drills_.end(), [&](const Drill& each) { return each.name == name; });
    return found == drills_.end() ? nullptr : &*found;
}

AthleteCame ClubTonight::came(const Attending& one) const {
    const std::int32_t age = one.athlete.birth_year ? age_this_year(one.athlete) : 0;
    return {one.athlete.id, age, height_order(one.athlete.height_band), one.drill};
}

std::optional<DoseGiven> ClubTonight::dose(const Person& person, const Block& block) const {
    const Drill* known = drill(!block.drill.empty() ? block.drill : person.drill);
    if (known == nullptr) return std::nullopt;
    Drill wanted = *known;
    const Dose asked{block.reps > 0 ? block.reps : wanted.reps, block.sets > 0 ? block.sets : wanted.sets};
    const Dose due = dose_for(person.age, asked);
    const Dose given = block.beyond_age ? asked : due;
    wanted = in_sets_of(std::move(wanted), given.reps);
    return DoseGiven{person.athlete, wanted.name, given.reps, given.sets, before_set + set_length(wanted),
                     given != due};
}

SessionId ClubTonight::fresh_session() {
    SessionId id{ids_.next()};
    while (!taken_.insert(id).second) id = SessionId{ids_.next()};
    return id;
}

Expected<SessionBegan> ClubTonight::session(AthleteId id, const std::string& name) {
    const Attending* one = find(id);
    const Drill* known = drill(name);
    if (one == nullptr)
        return failure(ErrorKind::not_found, "nobody of that id is here", "say who it was by call-sign");
    if (known == nullptr)
        return failure(ErrorKind::not_found, "there is no drill \"" + name + "\" tonight",
                       "choose another for " + shown(one->athlete));
    SessionBegan began;
    began.athlete = id;
    began.athlete_lead = one->athlete.lead;
    began.unix_seconds = unix_now();
    began.seed = seeds_.next();
    began.drill = as_met_by(*known, one->athlete.lead);
    began.prior = one->prior;
    begin_at(one->levels, began);
    return began;
}

SceneNames ClubTonight::names(AthleteId id, const SessionBegan& began) const {
    SceneNames names;
    names.club = club_;
    names.drill_title = began.drill.title;
    names.seed = began.seed;
    names.lift = began.drill.opponent.lift;
    names.spread = began.drill.opponent.spread;
    names.caution = caution_before_the_first_set();
    if (const Attending* one = find(id)) {
        names.athlete = shown(one->athlete);
        names.child = breakstep::is_child(one->athlete);
        names.nudged = is_nudged(one->athlete);
        names.kept = one->kept;
        recall(one->last, began.drill.name, names);
    }
    for (const Participant& each : began.participants)
        if (const Attending* kicks = each.role == ParticipantRole::partner ? find(each.athlete) : nullptr)
            names.partner = shown(kicks->athlete);
    return names;
}

EveningClub ClubTonight::club() {
    EveningClub club;
    club.fresh_session = [this] { return fresh_session(); };
    club.dose = [this](const Person& person, const Block& block) { return dose(person, block); };
    club.session = [this](AthleteId id, const std::string& name) { return session(id, name); };
    club.names = [this](AthleteId id, const SessionBegan& began) { return names(id, began); };
    club.call_sign = [this](AthleteId id) {
        const Attending* one = find(id);
        return one == nullptr ? std::string() : shown(one->athlete);
    };
    club.title = [this](const std::string& name) {
        const Drill* known = drill(name);
        return known == nullptr ? std::string() : known->title.empty() ? known->name : known->title;
    };
    club.pairs_drill = [this](const std::string& name) { return drill(name); };
    club.with_partner = [this](const std::string& name) {
        const Drill* known = drill(name);
        return known != nullptr && known->partner.source == AttackSource::partner;
    };
    club.leads_to_edge = [this](const std::string& name) {
        const Drill* known = drill(name);
        return known != nullptr && known->asks.rung == RungAim::edge;
    };
    club.gates = [this](std::int32_t order) {
        const std::lock_guard lock(heights_lock_);
        const auto band = heights_.find(order);
        return band == heights_.end() ? std::string() : std::string("Gates to ").append(band->second).append(".");
    };
    return club;
}

}  // namespace breakstep
