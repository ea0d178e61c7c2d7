#include <iostream>

#include "cli/lists/lists.hpp"
#include "club/lists/leads_list.hpp"
#include "club/lists/list_words.hpp"

namespace breakstep {

int run_leads(const ListArguments& arguments) {
    if (arguments.table) {
        print_leads_table(std::cout, arguments.simulated, arguments.seed);
    } else {
        const auto text = text_of_list(arguments.file);
        if (!text) return complain(text.error());
        const auto result = leads_from_list(text->text, text->name);
        if (!result) return complain(result.error());
        std::cout << (arguments.json ? leads_json(*result) : leads_words(*result, arguments.details));
    }
    std::cout.flush();
    if (std::cout) return exit_done;
    return complain({ErrorKind::system, "the results could not be written", "is the disk full?"});
}

}  // namespace breakstep
