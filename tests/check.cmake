# Builds and tests linkdrill in flavours, from any folder:
#
#   cmake -P tests/check.cmake                       all three
#   cmake -D FLAVOURS=plain,asan -P tests/check.cmake
#
#   plain   build/       everything
#   asan    build-asan/  address and undefined-behaviour sanitizers, by clang: every test but those in `not_under_asan`
#   tsan    build-tsan/  thread sanitizer: the tests labelled threaded or live; nothing else starts a thread
#
# Options: FLAVOURS (a list with commas), JOBS (parallel jobs; default: all cores), BUILDS (where the build folders are;
# default: the root of the sources). Status 0 only if all flavours pass; each is run even if one before it failed.
#
# With sanitizers the program is some ten times slower. LINKDRILL_DEPTH, which is 4 there unless the environment says
# otherwise, makes the walks and searches of tests/exhaustive shallower (tests/support/effort.hpp).
cmake_minimum_required(VERSION 3.25)

cmake_path(GET CMAKE_CURRENT_LIST_DIR PARENT_PATH root)
if(NOT DEFINED FLAVOURS)
    set(FLAVOURS plain,asan,tsan)
endif()
if(NOT DEFINED BUILDS)
    set(BUILDS "${root}")
endif()
if(NOT DEFINED JOBS)
    cmake_host_system_information(RESULT JOBS QUERY NUMBER_OF_LOGICAL_CORES)
endif()

set(not_under_asan
    "^checks/"                                  # rules about the sources: nothing that is compiled takes part
    "^golden/"                                 # what is said, not how: the same whatever the flavour
    "^scenarios/veneer_press/fault_free_day$"  # a whole day: over two minutes
    "^live/(every_scenario|networks|clock_set|stalled|round_trips)$"  # long, as what follows; their code runs in
    "^tools/(schema|measures|install|completion|same_without_fma)$"   # other tests too
    "^published/crc_against_crccheck$"
)
set(folder_plain build)
set(folder_asan build-asan)
set(folder_tsan build-tsan)
set(sanitize_plain "")
set(sanitize_asan address,undefined)
set(sanitize_tsan thread)
list(JOIN not_under_asan "|" not_under_asan)
set(tests_plain "")
set(tests_asan --exclude-regex "${not_under_asan}")
set(tests_tsan --label-regex "^(threaded|live)$")

string(REPLACE "," ";" flavours "${FLAVOURS}")
foreach(flavour IN LISTS flavours)
    if(NOT DEFINED "folder_${flavour}")
        message(FATAL_ERROR "check.cmake: unknown flavour '${flavour}'; there are plain, asan and tsan")
    endif()
endforeach()

# Runs a command of a flavour; sets `ok` to whether it succeeded.
function(run_command)
    execute_process(COMMAND ${ARGN} WORKING_DIRECTORY "${root}" RESULT_VARIABLE status)
    if(status EQUAL 0)
        set(ok TRUE PARENT_SCOPE)
    else()
        set(ok FALSE PARENT_SCOPE)
    endif()
endfunction()

# Builds and tests one flavour; sets `outcome`.
function(check flavour)
    set(build "${BUILDS}/${folder_${flavour}}")
    # Of g++ warnings are the plain flavour's affair: about instrumented code it guesses wrongly. clang's are told in its
    # flavour. It compiles such code at -O1 in about the time that g++ takes at -Og, a third of that at -O2, and the code
    # runs twice as fast; what libFuzzer needs in it (tests/fuzz/run) would take that away again.
    set(flags "")
    if(flavour STREQUAL "asan")
        set(flags -D CMAKE_CXX_COMPILER=clang++ "-DCMAKE_CXX_FLAGS_RELEASE=-O1 -gline-tables-only"
            -D LINKDRILL_FUZZ=OFF)
    elseif(flavour STREQUAL "tsan")
        set(flags --compile-no-warning-as-error -D CMAKE_CXX_FLAGS_RELEASE=-Og)
    endif()
    set(generator "")
    if(NOT EXISTS "${build}/CMakeCache.txt")
        set(generator -G Ninja)
    endif()
    message(STATUS "${flavour}: configuring ${build}")
    run_command("${CMAKE_COMMAND}" -S "${root}" -B "${build}" ${generator} ${flags} -D LINKDRILL_TESTS=ON
        -D "LINKDRILL_SANITIZE=${sanitize_${flavour}}" --log-level=WARNING)
    if(NOT ok)
        set(outcome "does not configure" PARENT_SCOPE)
        return()
    endif()
    run_command("${CMAKE_COMMAND}" --build "${build}" --parallel "${JOBS}")
    if(NOT ok)
        set(outcome "does not build" PARENT_SCOPE)
        return()
    endif()
    set(environment
        "ASAN_OPTIONS=strict_string_checks=1:detect_stack_use_after_return=1:check_initialization_order=1"
        "UBSAN_OPTIONS=print_stacktrace=1"
        "TSAN_OPTIONS=halt_on_error=1")
    if(NOT flavour STREQUAL "plain" AND NOT DEFINED ENV{LINKDRILL_DEPTH})
        list(APPEND environment LINKDRILL_DEPTH=4)
    endif()
    set(tests_of_flavour --test-dir "${build}" ${tests_${flavour}})
    if(flavour STREQUAL "tsan")
        execute_process(COMMAND "${CMAKE_CTEST_COMMAND}" ${tests_of_flavour} --show-only OUTPUT_VARIABLE found)
        if(found MATCHES "Total Tests: 0")
            set(outcome "built, nothing to run: no test is labelled threaded or live" PARENT_SCOPE)
            return()
        endif()
    endif()
    run_command("${CMAKE_COMMAND}" -E env ${environment}
        "${CMAKE_CTEST_COMMAND}" ${tests_of_flavour} --output-on-failure --no-tests=error -j "${JOBS}")
    if(ok)
        set(outcome passed PARENT_SCOPE)
    else()
        set(outcome "tests fail" PARENT_SCOPE)
    endif()
endfunction()

set(all_good TRUE)
set(summary "")
foreach(flavour IN LISTS flavours)
    string(TIMESTAMP began "%s")
    check(${flavour})
    string(TIMESTAMP ended "%s")
    math(EXPR seconds "${ended} - ${began}")
    list(APPEND summary "${flavour}: ${outcome} (${seconds} s)")
    if(NOT outcome MATCHES "^(passed|built)")
        set(all_good FALSE)
    endif()
endforeach()
foreach(line IN LISTS summary)
    message(STATUS "${line}")
endforeach()
if(NOT all_good)
    message(FATAL_ERROR "check.cmake: not every flavour passes")
endif()
