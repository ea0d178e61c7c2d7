#include "cli/command_line.hpp"

int main(int argument_count, char** arguments) { return breakstep::run_command_line(argument_count, arguments); }
