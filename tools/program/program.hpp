#pragma once
// The program around the commands: reads the command line, calls the command, prints what it made, gives the status.

namespace tools {

/// The whole program; returns its exit status.
int run_program(int count, char** values);

}  // namespace tools
