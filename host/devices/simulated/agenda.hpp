// What is still to happen, in order of time; things due at one time happen in the order in which they were added, so
// that a run is the same every time. A value; owned by one model, on that model's thread.
#pragma once

#include <algorithm>
#include <cstdint>
#include <optional>
#include <utility>
#include <vector>

#include "core/time.hpp"

namespace breakstep {

template <class Action>
class Agenda {
  public:
    void add(HostTime at, Action action) {
        entries_.push_back({at, added_++, std::move(action)});
        std::push_heap(entries_.begin(), entries_.end(), later);
    }
    [[nodiscard]] std::optional<HostTime> next() const {
        if (entries_.empty()) return std::nullopt;
        return entries_.front().at;
    }
    /// Takes the earliest out if it is due by `now`, with its time.
    [[nodiscard]] std::optional<std::pair<HostTime, Action>> take(HostTime now) {
        if (entries_.empty() || entries_.front().at > now) return std::nullopt;
        std::pop_heap(entries_.begin(), entries_.end(), later);
        std::pair<HostTime, Action> first(entries_.back().at, std::move(entries_.back().action));
        entries_.pop_back();
        return first;
    }
    template <class Predicate>
    void remove_if(Predicate unwanted) {
        std::erase_if(entries_, [&](const Entry& entry) { return unwanted(entry.action); });
        std::make_heap(entries_.begin(), entries_.end(), later);
    }
    void clear() { entries_.clear(); }

  private:
    struct Entry {
        HostTime at;
        std::uint64_t order;
        Action action;
    };
    static bool later(const Entry& a, const Entry& b) { return a.at != b.at ? a.at > b.at : a.order > b.order; }

    std::vector<Entry> entries_;
    std::uint64_t added_ = 0;
};

}  // namespace breakstep
