#include "desk/guard/phones.hpp"

#include <algorithm>
#include <charconv>
#include <sstream>

#include "desk/guard/secrets.hpp"

namespace breakstep::desk {
namespace {

constexpr std::string_view first_line = "breakstep desk 1";
constexpr std::size_t digest_letters = 64;

std::string digest_of(std::string_view token) { return digest(token, "phone"); }

bool holds(const Phone& phone, std::int64_t now) {
    // A clock set back makes no pairing longer than it was.
    return now >= phone.paired_unix_seconds && now - phone.paired_unix_seconds < Phones::holds_seconds;
}

bool is_digest(std::string_view text) {
    return text.size() == digest_letters && std::all_of(text.begin(), text.end(), [](char c) {
               return (c >= '0' && c <= '9') || (c >= 'a' && c <= 'f');
           });
}

std::optional<Phone> phone_in(const std::string& line) {
    std::istringstream in(line);
    Phone phone;
    std::string role, more;
    if (!(in >> phone.digest >> phone.paired_unix_seconds >> phone.number >> role) || (in >> more)) return std::nullopt;
    if (!is_digest(phone.digest) || phone.number < 1 || (role != "commands" && role != "watches")) return std::nullopt;
    phone.commands = role == "commands";
    return phone;
}

}  // namespace

void Phones::forget_old(std::int64_t now) {
    std::erase_if(phones_, [now](const Phone& each) { return !holds(each, now); });
}

std::optional<Phones::Paired> Phones::pair(bool wants_command, std::int64_t now) {
    forget_old(now);
    if (phones_.size() >= most) return std::nullopt;
    const bool commanded = std::any_of(phones_.begin(), phones_.end(), [](const Phone& each) { return each.commands; });
    Paired paired{random_token(), {}};
    paired.phone = {digest_of(paired.token), now, ++last_number_, wants_command && !commanded};
    phones_.push_back(paired.phone);
    return paired;
}

const Phone* Phones::of(std::string_view digest, std::int64_t now) const {
    // Each is compared, so that the time says nothing of which it was.
    const Phone* found = nullptr;
    for (const Phone& each : phones_)
        if (same_secret(each.digest, digest) && holds(each, now)) found = &each;
    return found;
}

const Phone* Phones::find(std::string_view token, std::int64_t now) const { return of(digest_of(token), now); }

void Phones::give_command(std::string_view digest) {
    for (Phone& each : phones_) each.commands = each.digest == digest;
}

void Phones::forget(std::string_view digest) {
    std::erase_if(phones_, [&](const Phone& each) { return each.digest == digest; });
}

void Phones::forget_all() { phones_.clear(); }

std::string Phones::written() const {
    std::ostringstream out;
    out << first_line << '\n';
    for (const Phone& each : phones_)
        out << each.digest << ' ' << each.paired_unix_seconds << ' ' << each.number << ' '
            << (each.commands ? "commands" : "watches") << '\n';
    return out.str();
}

Expected<void> Phones::read(std::string_view text, std::int64_t now) {
    std::istringstream in{std::string(text)};
    std::string line;
    std::vector<Phone> phones;
    bool whole = static_cast<bool>(std::getline(in, line)) && line == first_line;
    bool commanded = false;
    while (whole && std::getline(in, line)) {
        const auto phone = phone_in(line);
        whole = phone && phones.size() < most && !(commanded && phone->commands);
        if (!whole) break;
        commanded = commanded || phone->commands;
        phones.push_back(*phone);
    }
    if (!whole) return failure(ErrorKind::damaged, "the list of paired phones is not one", "pair the phones again");
    phones_ = std::move(phones);
    for (const Phone& each : phones_) last_number_ = std::max(last_number_, each.number);
    forget_old(now);
    return {};
}

std::string form_token(std::string_view token) { return digest(token, "form"); }

}  // namespace breakstep::desk
