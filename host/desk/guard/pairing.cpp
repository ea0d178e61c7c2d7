#include "desk/guard/pairing.hpp"

#include <algorithm>

#include "desk/guard/secrets.hpp"

namespace breakstep::desk {

std::optional<std::string> PairingCode::renew(DeskTime now) {
    if (now < pause_until_) return std::nullopt;
    digits_ = draw_();
    until_ = now + good_for;
    wrong_ = 0;
    return digits_;
}

std::optional<std::string> PairingCode::digits(DeskTime now) const {
    if (digits_.empty() || now >= until_) return std::nullopt;
    return digits_;
}

DeskTime PairingCode::good_still(DeskTime now) const { return digits(now) ? until_ - now : DeskTime{}; }

DeskTime PairingCode::pause_still(DeskTime now) const { return std::max(DeskTime{}, pause_until_ - now); }

PairingCode::Answer PairingCode::take(std::string_view typed, DeskTime now) {
    if (!digits(now)) return Answer::none;
    const auto digits = digits_typed(typed);
    if (digits && same_secret(*digits, digits_)) {
        digits_.clear();
        return Answer::paired;
    }
    if (++wrong_ >= tries) {
        digits_.clear();
        pause_until_ = now + pause;
    }
    return Answer::wrong;
}

std::optional<std::string> digits_typed(std::string_view typed) {
    constexpr std::size_t longest = 20;
    std::string digits;
    if (typed.size() > longest) return std::nullopt;
    for (const char each : typed) {
        if (each == ' ' || each == '-') continue;
        if (each < '0' || each > '9') return std::nullopt;
        digits += each;
    }
    return digits.size() == 6 ? std::optional(digits) : std::nullopt;
}

}  // namespace breakstep::desk
