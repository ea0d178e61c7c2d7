#include <iostream>

#include "cli/lists/lists.hpp"
#include "club/lists/list_words.hpp"
#include "club/lists/rung_list.hpp"

namespace breakstep {

int run_rung(const RungArguments& arguments) {
    if (arguments.list.table) {
        print_rung_table(std::cout, arguments.list.simulated, arguments.list.seed);
    } else {
        const auto text = text_of_list(arguments.list.file);
        if (!text) return complain(text.error());
        const auto result = rung_from_list(text->text, text->name, arguments.mark);
        if (!result) return complain(result.error());
        std::cout << (arguments.list.json ? rung_json(*result) : rung_words(*result, arguments.list.details));
    }
    std::cout.flush();
    if (std::cout) return exit_done;
    return complain({ErrorKind::system, "the results could not be written", "is the disk full?"});
}

}  // namespace breakstep
