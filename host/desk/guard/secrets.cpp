#include "desk/guard/secrets.hpp"

#include <sodium.h>

#include <array>
#include <cstdint>

namespace breakstep::desk {
namespace {

constexpr std::size_t token_bytes = 32, digest_bytes = 32;

const unsigned char* bytes_of(std::string_view text) { return reinterpret_cast<const unsigned char*>(text.data()); }

}  // namespace

bool secrets_are_ready() { return sodium_init() >= 0; }

std::string random_token() {
    std::array<unsigned char, token_bytes> bytes{};
    randombytes_buf(bytes.data(), bytes.size());
    constexpr int variant = sodium_base64_VARIANT_URLSAFE_NO_PADDING;
    std::string text(sodium_base64_encoded_len(bytes.size(), variant), '\0');
    sodium_bin2base64(text.data(), text.size(), bytes.data(), bytes.size(), variant);
    text.pop_back();  // the zero at its end
    sodium_memzero(bytes.data(), bytes.size());
    return text;
}

std::string six_digits() {
    const std::string digits = std::to_string(randombytes_uniform(1'000'000));
    return std::string(6 - digits.size(), '0') + digits;
}

std::string digest(std::string_view token, std::string_view use) {
    std::array<unsigned char, digest_bytes> bytes{};
    crypto_generichash_state state;
    crypto_generichash_init(&state, nullptr, 0, bytes.size());
    crypto_generichash_update(&state, bytes_of(use), use.size());
    constexpr unsigned char border = 0;
    crypto_generichash_update(&state, &border, 1);
    crypto_generichash_update(&state, bytes_of(token), token.size());
    crypto_generichash_final(&state, bytes.data(), bytes.size());
    std::string text(2 * bytes.size() + 1, '\0');
    sodium_bin2hex(text.data(), text.size(), bytes.data(), bytes.size());
    text.pop_back();
    return text;
}

bool same_secret(std::string_view one, std::string_view other) {
    return one.size() == other.size() && sodium_memcmp(one.data(), other.data(), one.size()) == 0;
}

}  // namespace breakstep::desk
