# Writes made_by.cpp, what a build knows of itself, and only if that is another than before:
#   cmake -D SOURCE=dir -D OUTPUT=made_by.cpp -D VERSION=0.1.0 -D WITH="GNU 12.2.0, …" -P made_by.cmake
# The commit is asked for in each build, not when it is configured: it changes between.
cmake_minimum_required(VERSION 3.25)

set(commit "commit unknown")
find_program(git git)
if(git)
    # a folder that lies in somebody else's repository has no commit of ours
    execute_process(COMMAND "${git}" -C "${SOURCE}" rev-parse --show-toplevel OUTPUT_VARIABLE top ERROR_QUIET
        OUTPUT_STRIP_TRAILING_WHITESPACE)
    file(REAL_PATH "${SOURCE}" source)
    if(top STREQUAL source)
        execute_process(COMMAND "${git}" -C "${SOURCE}" rev-parse --short=12 HEAD OUTPUT_VARIABLE head ERROR_QUIET
            OUTPUT_STRIP_TRAILING_WHITESPACE)
        execute_process(COMMAND "${git}" -C "${SOURCE}" status --porcelain --untracked-files=no
            OUTPUT_VARIABLE changes ERROR_QUIET)
        if(head)
            set(commit "commit ${head}")
        endif()
        if(changes)
            string(APPEND commit " and changes")
        endif()
    endif()
endif()
file(CONFIGURE OUTPUT "${OUTPUT}" CONTENT [[
#include "tools/program/made_by.hpp"

const std::string_view tools::built_from = "linkdrill @VERSION@, @commit@";
const std::string_view tools::built_with = "@WITH@";
]] @ONLY)
