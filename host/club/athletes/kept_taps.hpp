// Step-ins that were tapped beside a video, kept with the athlete whose they are: times alone, in a file of the
// athlete's own beside the store (NAME.desk/taps-ID.csv), so that erasing the athlete takes it whole.
//
// Any one thread at a time. Fails as files do; damaged lines end what is read.
#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "core/error.hpp"
#include "core/journal/identities.hpp"

namespace breakstep {

struct KeptTaps {
    std::string day;           ///< when they were kept: "2026-11-27"
    std::vector<double> a, b;  ///< seconds into the video: the athlete's own step-ins, and the other one's
};

[[nodiscard]] std::filesystem::path taps_file(const std::filesystem::path& store, AthleteId athlete);
/// Adds one; at most 200 of an athlete.
[[nodiscard]] Expected<void> keep_taps(const std::filesystem::path& file, const KeptTaps& taps);
/// In the order in which they were kept; none where there is no file.
[[nodiscard]] Expected<std::vector<KeptTaps>> read_taps(const std::filesystem::path& file);

}  // namespace breakstep
