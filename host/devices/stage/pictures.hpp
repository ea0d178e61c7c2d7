// Pictures of the stage and its strips as files, for the README and for whoever wants to look at every screen: dark and
// bright. What a session or a plan made is handed in; poses of a kick are invented here.
//
// Any thread. Fails if a file can't be written.
#pragma once

#include <string>
#include <vector>

#include "core/error.hpp"
#include "devices/stage/draw_stage.hpp"
#include "devices/stage/stage_view.hpp"

namespace breakstep {

/// The moment from which a picture's time is counted: views handed in are made for it.
inline constexpr HostTime pictures_begin{std::chrono::seconds{1000}};

struct StagePicture {
    std::string name;  ///< of the file, without its end
    StageView view;
    Duration after{};  ///< drawn for so long after pictures_begin
};

/// Writes every picture into the directory and gives the files' names.
[[nodiscard]] Expected<std::vector<std::string>> write_pictures(const std::string& directory, const StageRest& rest,
                                                                const StageNudge& nudge,
                                                                std::vector<StagePicture> more = {},
                                                                StageSize size = {});

}  // namespace breakstep
