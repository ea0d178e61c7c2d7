#include "desk/live/feed.hpp"

#include <algorithm>

#include "desk/live/seen_json.hpp"

namespace breakstep::desk {
namespace {

// A message of at most so many reps, so that one that slept the whole evening gets them in pieces.
constexpr std::uint64_t most_at_once = 500;

}  // namespace

Feed::Feed(const DeskHouse& house, std::string run) : house_(house), run_(std::move(run)) {
    if (house_.view) view_ = house_.view();
    if (view_) view_json_ = json_of(*view_);
    for (const RepSeen& each : house_.before) add(each);
}

void Feed::add(RepSeen rep) {
    reps_.push_back(json_of(rep, reps_.size() + 1));
    seen_.push_back(std::move(rep));
}

bool Feed::refresh() {
    if (!house_.view || !house_.reps_since) return false;
    const auto view = house_.view();
    const bool is_new = view && (!view_ || view->number != view_->number);
    if (is_new) {
        view_ = view;
        view_json_ = json_of(*view);
    }
    // A rep is published with the view that counts it.
    const auto reps = house_.reps_since(from_house_);
    for (const RepSeen& each : reps) {
        from_house_ = each.number;
        add(each);
    }
    return is_new || !reps.empty();
}

std::string Feed::missed(Place& place) const {
    if (place.run != run_ || place.rep > last()) place = {run_, 0, 0};
    const bool view_is_new = view_ && view_->number != place.view;
    if (!view_is_new && place.rep == last()) return "";
    std::string json = "{\"run\":\"" + run_ + "\",\"after\":" + std::to_string(place.rep) + ",\"reps\":[";
    const std::uint64_t to = std::min(last(), place.rep + most_at_once);
    for (std::uint64_t i = place.rep; i < to; ++i) {
        if (i != place.rep) json += ',';
        json += reps_[static_cast<std::size_t>(i)];
    }
    json += ']';
    if (view_is_new) json += ",\"view\":" + view_json_;
    place.rep = to;
    if (view_is_new) place.view = view_->number;
    return json + ",\"upto\":" + std::to_string(to) + "}";
}

const RepSeen* Feed::find(SessionId session, RepId rep) const {
    const auto found = std::find_if(seen_.rbegin(), seen_.rend(), [&](const RepSeen& each) {
        return each.session == session && each.result.rep == rep;
    });
    return found == seen_.rend() ? nullptr : &*found;
}

}  // namespace breakstep::desk
