#include "club/opponents/copied_opponent.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <fstream>

#include "club/athletes/naming.hpp"
#include "club/consent/consent_words.hpp"
#include "store/consent.hpp"

namespace breakstep {
namespace {

using copying::kind_count;
using copying::KindShares;
using copying::PartnerCopy;

// The first line of such a file, and of no other.
constexpr std::string_view mark = "# breakstep: a copy of the partner ";
constexpr std::size_t mark_length_max = 80;
constexpr std::string_view until_mark = "# Their yes ends on ";

std::string_view kind_word(std::size_t kind) { return word(static_cast<AttackKind>(kind)); }

/// So many parts of the whole by their shares, by largest remainders; what comes at all gets one at least.
std::array<int, kind_count> in_parts(const KindShares& shares, const KindShares& comes, int whole) {
    std::array<int, kind_count> parts{};
    std::array<double, kind_count> owed{};
    int given = 0;
    for (std::size_t i = 0; i < kind_count; ++i) {
        if (comes[i] <= 0) continue;
        const double exact = shares[i] * whole;
        parts[i] = static_cast<int>(std::floor(exact));
        owed[i] = exact - parts[i];
        given += parts[i];
    }
    while (given < whole) {
        const auto most = static_cast<std::size_t>(std::max_element(owed.begin(), owed.end()) - owed.begin());
        ++parts[most];
        owed[most] = -1;
        ++given;
    }
    return parts;
}

/// In twentieths, since a file's kinds go by fives: each kind that comes has its place.
std::array<int, kind_count> in_twentieths(const KindShares& shares) {
    std::array<int, kind_count> parts = in_parts(shares, shares, 20);
    for (std::size_t i = 0; i < kind_count; ++i) {
        if (shares[i] <= 0 || parts[i] > 0) continue;
        --*std::max_element(parts.begin(), parts.end());
        parts[i] = 1;
    }
    return parts;
}

std::string order_text(const PartnerCopy& copy) {
    std::string text =
        copy.order.any()
            ? "\n# What comes after what, in thousandths.\n"
            : "\n# What comes after what, in thousandths: no order of their own was seen, so all rows are one.\n";
    for (std::size_t from = 0; from < kind_count; ++from) {
        if (copy.shares[from] <= 0) continue;
        text += fmt::format("\n[after.{}]\n", kind_word(from));
        const auto parts = in_parts(copy.order.after[from], copy.shares, 1000);
        for (std::size_t to = 0; to < kind_count; ++to)
            if (copy.shares[to] > 0) text += fmt::format("{} = {}\n", kind_word(to), parts[to]);
    }
    return text;
}

std::string range_text(const char* key, const LengthRange& range) {
    const auto ms = [](Duration length) { return static_cast<double>(length.count()) / 1e6; };
    return fmt::format("{} = [{:.1f}, {:.1f}, {:.1f}]\n", key, ms(range.mean), ms(range.shortest), ms(range.longest));
}

std::string lengths_text(const OpponentSettings& lengths) {
    std::string text = "\n# Lengths in ms as the gates saw them: mean, shortest, longest.\n[opponent]\n";
    const std::pair<const char*, const LengthRange*> all[] = {
        {"lift_ms", &lengths.lift},   {"up_ms", &lengths.up},      {"pull_back_ms", &lengths.pull_back},
        {"drop_ms", &lengths.drop},   {"gap_ms", &lengths.gap},    {"carry_ms", &lengths.carry},
        {"hands_ms", &lengths.hands}, {"feint_ms", &lengths.feint}};
    for (const auto& [key, range] : all) text += range_text(key, *range);
    return text + fmt::format("spread = {:.3f}\n", lengths.spread);
}

std::string retreats_text(const PartnerCopy& copy) {
    const auto delay = [](const Manner& manner) { return static_cast<double>(manner.delay.count()) / 1e6; };
    if (const auto& twice = copy.after_two_retreats)
        return fmt::format("\n# Kicks at whoever gives ground twice.\n[drawn]\nshare = {:.2f}\ndelay_ms = {:.0f}\n",
                           twice->share, std::clamp(delay(*twice), 150.0, 1500.0));
    if (const auto& once = copy.after_one_retreat)
        return fmt::format("\n# Kicks at whoever gives ground.\n[retreated_from]\nshare = {:.2f}\ndelay_ms = {:.0f}\n",
                           once->share, delay(*once));
    return "";
}

}  // namespace

bool agrees_to_a_copy(const Athlete& partner, std::string_view today, bool invented) {
    const ConsentState consent = consent_state(partner, today);
    return consent == ConsentState::given || (invented && consent == ConsentState::not_asked);
}

Expected<PartnerCopy> study_partner(const Kept& store, const Athlete& partner, std::string_view today, bool simulated) {
    if (!agrees_to_a_copy(partner, today, simulated))
        return failure(
            ErrorKind::bad_input,
            shown(partner) +
                " has not said yes to being copied (consent: " + std::string(word(consent_state(partner, today))) + ")",
            "ask, then: breakstep athletes change " + shown(partner) + " --consent-on DATE --consent-by WHOM");
    const auto sessions = store.sessions();
    if (!sessions) return tl::make_unexpected(sessions.error());
    copying::PartnerStudy study;
    for (const SessionSummary& session : *sessions) {
        // Whose partner drill it was stands in its first record: only those are read on.
        bool theirs = false;
        const auto read = store.read_records(session.id, [&](const JournalRecord& record) {
            if (const auto* began = std::get_if<SessionBegan>(&record.event))
                theirs = std::any_of(began->participants.begin(), began->participants.end(), [&](const auto& each) {
                    return each.role == ParticipantRole::partner && each.athlete == partner.id;
                });
            if (theirs) study.fold(record);
        });
        if (!read) return tl::make_unexpected(read.error());
    }
    PartnerCopy copy = study.copy();
    if (copy.own_kicks < copying::fewest_own_kicks)
        return failure(
            ErrorKind::bad_input,
            fmt::format("{} has kicked {} times where nobody asked for it, and a copy takes {}", shown(partner),
                        copy.own_kicks, copying::fewest_own_kicks),
            "let them kick when they like (the drill free-exchange), a few rounds more; kicks that were told teach "
            "lengths alone");
    return copy;
}

std::string opponent_text(const PartnerCopy& copy, const Athlete& partner) {
    std::string text = fmt::format("{}{}\n", mark, id_text(partner.id));
    text += fmt::format(
        "# Learned from {} kicks in {} sessions, {} of them where nobody asked. Erasing the partner deletes this "
        "file.\n",
        copy.kicks, copy.sessions, copy.own_kicks);
    if (partner.consent && !partner.consent->until.empty())
        text += fmt::format("{}{}\n", until_mark, partner.consent->until);
    // A call-sign can hold what ends a text in such a file.
    std::string name;
    for (const char each : shown(partner))
        if (each != '"' && each != '\\') name += each;
    text += fmt::format("\ntitle = \"A copy of {}\"\nfor = \"For who meets {} and wants to be ready.\"\n", name, name);
    text += fmt::format("level = \"{}\"\nwait_minimum_s = {:.3f}\nwait_extra_s = {:.3f}\n", word(copy.level),
                        static_cast<double>(copy.wait_minimum.count()) / 1e9,
                        static_cast<double>(copy.wait_extra.count()) / 1e9);
    if (copy.after_two_retreats) text += "draws = [\"ground given twice\"]\n";
    text += "\n# In hundredths, by fives; what comes after what says it closer.\n[kinds]\n";
    const auto parts = in_twentieths(copy.shares);
    for (std::size_t i = 0; i < kind_count; ++i)
        if (parts[i] > 0) text += fmt::format("{} = {}\n", kind_word(i), 5 * parts[i]);
    return text + order_text(copy) + retreats_text(copy) + lengths_text(copy.lengths);
}

std::string opponent_name(const Athlete& partner) {
    std::string name;
    for (const char each : shown(partner)) {
        const bool upper = each >= 'A' && each <= 'Z';
        const bool plain = (each >= 'a' && each <= 'z') || (each >= '0' && each <= '9');
        if (upper || plain) name += upper ? static_cast<char>(each - 'A' + 'a') : each;
    }
    return "copy-of-" + (name.empty() ? id_text(partner.id) : name);
}

std::string yes_of_copy_ends(const std::filesystem::path& path) {
    std::ifstream file(path);
    std::string line;
    while (std::getline(file, line) && line.starts_with('#'))
        if (line.starts_with(until_mark)) return line.substr(until_mark.size());
    return "";
}

std::optional<std::uint64_t> copied_from(const std::filesystem::path& path) {
    if (path.extension() != ".toml") return std::nullopt;
    std::ifstream file(path, std::ios::binary);
    std::string line(mark_length_max, '\0');
    file.read(line.data(), static_cast<std::streamsize>(line.size()));
    line.resize(static_cast<std::size_t>(std::max<std::streamsize>(file.gcount(), 0)));
    if (!line.starts_with(mark)) return std::nullopt;
    const char* from = line.data() + mark.size();
    std::uint64_t id = 0;
    const auto [end, error] = std::from_chars(from, line.data() + line.size(), id, 16);
    if (error != std::errc() || end != from + 16) return std::nullopt;
    return id;
}

}  // namespace breakstep
