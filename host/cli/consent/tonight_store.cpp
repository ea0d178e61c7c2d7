#include "cli/consent/tonight_store.hpp"

#include <fmt/format.h>

#include <iostream>

#include "cli/commands.hpp"
#include "club/term/term.hpp"
#include "core/error.hpp"

namespace breakstep {

void clear_last_evening(const std::filesystem::path& store) {
    const auto cleared = clear_evening_that_is_over(store);
    if (!cleared)
        (void)complain(cleared.error());
    else if (*cleared)
        std::cerr << fmt::format(
            "the results of the evening of {} that were not to be kept for want of consent are gone ({})\n",
            day_text((*cleared)->evening), shown_text((*cleared)->file.string()));
}

void end_tonight(const std::filesystem::path& store) {
    const auto names = remove_tonights_results(store);
    if (!names)
        (void)complain(names.error());
    else if (!names->empty())
        std::cout << fmt::format("Not kept, for want of consent, and gone now: tonight's results of {}.\n",
                                 shown_text(*names));
}

}  // namespace breakstep
