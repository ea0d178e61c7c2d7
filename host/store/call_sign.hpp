// When two call-signs are one, and which can't be told from another by looking. Pure; any thread.
//
// Two that differ in letter case, in the form in which Unicode writes a letter (é as one character or as two), or in
// marks that show nothing are one (Unicode's NFKC_Casefold, UAX #31). Letters of different scripts that look alike are
// not compared.
#pragma once

#include <string>
#include <string_view>

namespace breakstep {

/// Equal for call-signs that are one. Of text that is not UTF-8 the text itself.
[[nodiscard]] std::string call_sign_key(std::string_view call_sign);

/// A mark that shows nothing or turns the direction of writing: right-to-left marks, zero-width spaces, soft hyphens.
/// The two joiners of scripts that need them are none between letters beyond ASCII.
[[nodiscard]] bool has_hidden_mark(std::string_view text);

}  // namespace breakstep
