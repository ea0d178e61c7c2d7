// `breakstep report athlete|group|evening`: pages out of a store. Main thread; manners and exit codes are those of
// commands.hpp.
#pragma once

#include <functional>
#include <string>

#include "cli/progress/progress.hpp"

namespace CLI {
class App;
}

namespace breakstep {

struct ReportArguments {
    ProgressArguments term;  ///< the store, the term, what is claimed
    std::string athlete;     ///< a call-sign
    bool all = false;        ///< a page for each athlete
    std::string evening = "last";
    std::string folder = "reports";
    std::string format = "pdf";
    bool grey = false, overwrite = false;
    bool with_names = false;  ///< real names beside the call-signs
};

int report_athletes(const ReportArguments& arguments);
int report_group(const ReportArguments& arguments);
int report_evening(const ReportArguments& arguments);

/// Adds the command; its callback puts what is to be run into `run`.
void add_reports(CLI::App& app, std::function<int()>& run);

}  // namespace breakstep
