// The desk's own certificate: made on this computer, for its addresses, kept with its key beside the store, the owner's
// alone. OpenSSL makes key, signature and fingerprint.
//
// Main thread. Fails (system) where OpenSSL does, or as the files do.
#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "core/error.hpp"

namespace breakstep::desk {

struct Certificate {
    std::string key_pem, certificate_pem;
    std::string fingerprint;  ///< SHA-256, "AB:CD:..."
};

/// For these addresses ("10.42.0.1"), good for `days`.
[[nodiscard]] Expected<Certificate> make_certificate(const std::vector<std::string>& addresses, int days = 365);
/// The fingerprint of one that is good still, at least for a day, for all these addresses and this key. Fails
/// otherwise.
[[nodiscard]] Expected<std::string> fingerprint_of(const std::string& key_pem, const std::string& certificate_pem,
                                                   const std::vector<std::string>& addresses);
/// That of the folder, or a new one where none is good.
[[nodiscard]] Expected<Certificate> certificate_in(const std::filesystem::path& folder,
                                                   const std::vector<std::string>& addresses);

}  // namespace breakstep::desk
