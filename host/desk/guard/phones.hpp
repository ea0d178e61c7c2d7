// Who is paired. Each phone (or laptop's browser) has a token of its own in a cookie; here only its digest is known, so
// that what stands on the disk lets nobody in. One is in command, the others watch: the first that pairs commands, and
// command passes by the laptop's word only.
//
// A value of the desk; its thread's alone. Days and hours are by the wall clock, handed in: an evening is shorter than
// the twelve hours for which a pairing holds. Fails only in read().
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "core/error.hpp"

namespace breakstep::desk {

struct Phone {
    std::string digest;  ///< of its token
    std::int64_t paired_unix_seconds = 0;
    std::int32_t number = 0;  ///< 1, 2, ... in the order of pairing: what the coach reads
    bool commands = false;
};

class Phones {
  public:
    static constexpr std::int64_t holds_seconds = std::int64_t{12} * 3600;
    static constexpr std::size_t most = 12;

    /// A new one and its token, which is known to nobody else. It commands if it wants to and nobody does. Nothing when
    /// so many are paired already.
    struct Paired {
        std::string token;
        Phone phone;
    };
    [[nodiscard]] std::optional<Paired> pair(bool wants_command, std::int64_t now);
    [[nodiscard]] const Phone* find(std::string_view token, std::int64_t now) const;
    /// Whether the phone of this digest is paired still.
    [[nodiscard]] const Phone* of(std::string_view digest, std::int64_t now) const;
    /// Command passes to this one.
    void give_command(std::string_view digest);
    void forget(std::string_view digest);
    void forget_all();
    [[nodiscard]] const std::vector<Phone>& all() const { return phones_; }

    /// As lines of text, and back; a text that is none is refused whole (damaged).
    [[nodiscard]] std::string written() const;
    [[nodiscard]] Expected<void> read(std::string_view text, std::int64_t now);

  private:
    void forget_old(std::int64_t now);

    std::vector<Phone> phones_;
    std::int32_t last_number_ = 0;
};

/// What the pages of a phone send back with each request that changes something, so that no other page can make one in
/// its name: from the token, and telling nothing of it.
[[nodiscard]] std::string form_token(std::string_view token);

}  // namespace breakstep::desk
