// What nobody may guess: tokens, digits, and how they are kept and compared. A thin coat over libsodium; nothing of it
// is made here.
//
// Any thread, once ready() was true; cannot fail then.
#pragma once

#include <string>
#include <string_view>

namespace breakstep::desk {

/// Makes the library ready; may be called again. False where the system gives no randomness.
[[nodiscard]] bool secrets_are_ready();

/// 32 random bytes as 43 letters, digits, '-' and '_'.
[[nodiscard]] std::string random_token();
/// "000000" to "999999", each as likely.
[[nodiscard]] std::string six_digits();
/// A token as it may stand on the disk, 64 hexadecimal digits (BLAKE2b-256). `use` keeps digests for different uses
/// apart, so that one tells nothing of another.
[[nodiscard]] std::string digest(std::string_view token, std::string_view use);
/// Whether both are the same, in a time that does not tell where they differ. Their length is no secret.
[[nodiscard]] bool same_secret(std::string_view one, std::string_view other);

}  // namespace breakstep::desk
