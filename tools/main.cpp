#include "tools/program/program.hpp"

int main(int count, char** values) { return tools::run_program(count, values); }
