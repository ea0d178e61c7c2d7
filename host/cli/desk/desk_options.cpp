// Kept apart: the command line library is slow to compile.
#include <CLI/CLI.hpp>

#include <memory>

#include "cli/desk/desk.hpp"
#include "cli/shared_options.hpp"

namespace breakstep {

void add_desk_options(CLI::App& app, DeskOptions& options) {
    app.add_option("--port", options.port, "of the desk; 0: any that is free")->check(CLI::Range(0, 65535));
    app.add_flag("--hall", options.hall, "open the desk to the local network, by TLS; else to this computer alone");
}

void add_desk(CLI::App& app, std::function<int()>& run) {
    auto* desk = app.add_subcommand("desk", "the coach's pages in a browser, without an evening");
    struct Given {
        RigOptions rig;
        DeskOptions desk;
    };
    const auto given = std::make_shared<Given>();
    add_desk_options(*desk, given->desk);
    add_store(*desk, given->rig.common);
    desk->add_option("--rig", given->rig.port, "its port, for a calibration; without it a rig is looked for");
    desk->add_flag("--headless", given->rig.common.headless, "a calibration opens no window");
    desk->callback([given, &run] { run = [given] { return run_desk(given->rig, given->desk); }; });
}

}  // namespace breakstep
