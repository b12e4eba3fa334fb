# All tests. Nothing is listed by hand: a file in the right folder with the right name is a test.
#   tests/FOLDER/**/*_test.cpp           one doctest program test_FOLDER, one ctest
#   tests/support/*.cpp                  linked to each of them, as far as it is used
#   tests/tools/*.sh, tests/browser/*.sh, tests/pages/*.sh, tests/published/*.py   one ctest each
#   scenarios/**/*.toml                  one ctest each: rehearsed, or only checked if it is a profile or module
#   tests/golden                         one ctest for each scenario, drill, profile and file `command` there
#   tests/live/*.py                      one ctest each, in real time, alone
#   tests/fuzz/*_fuzz.cpp                one program and one ctest each, see fuzz.cmake
#   README.md in scenarios/, tools/ and at the top   one ctest each: what it shows is what is said
#   tests/cmake/check_*.py               one ctest each: rules about the sources

find_package(doctest REQUIRED)
# To check against: other people's CRCs and statistics.
find_package(Boost REQUIRED)
find_package(ZLIB REQUIRED)
set(tests_dir "${PROJECT_SOURCE_DIR}/tests")
# Debian's own: another python3 may come first in the path and lack Debian's modules.
set(python /usr/bin/python3 -B)
set(test_environment "LINKDRILL=$<TARGET_FILE:linkdrill>" "SOURCE=${PROJECT_SOURCE_DIR}")

# ---- doctest programs ----

add_library(test_main OBJECT "${tests_dir}/main.cpp")
target_link_libraries(test_main PUBLIC doctest::doctest)

# A static library: proto's tests that use none of sim in the support code do not link sim either.
file(GLOB support_sources CONFIGURE_DEPENDS "${tests_dir}/support/*.cpp")
if(support_sources)
    add_library(test_support STATIC ${support_sources})
    target_link_libraries(test_support PUBLIC sim_reading doctest::doctest)
endif()

file(GLOB_RECURSE test_files CONFIGURE_DEPENDS RELATIVE "${tests_dir}" "${tests_dir}/*.cpp")
list(FILTER test_files EXCLUDE REGEX
    "^(main\\.cpp$|support/|benchmark/|fuzz/|golden/|published/series_figures\\.cpp$)")
set(folders "")
foreach(file IN LISTS test_files)
    if(NOT file MATCHES "^([^/]+)/.*_test\\.cpp$")
        message(FATAL_ERROR "tests/${file}: would be in no test; name it *_test.cpp in a folder of tests/, "
            "or put it into tests/support/")
    endif()
    list(APPEND folders "${CMAKE_MATCH_1}")
    list(APPEND sources_of_${CMAKE_MATCH_1} "${tests_dir}/${file}")
endforeach()
list(REMOVE_DUPLICATES folders)

foreach(folder IN LISTS folders)
    add_executable(test_${folder} ${sources_of_${folder}})
    target_compile_definitions(test_${folder} PRIVATE "LINKDRILL_SOURCE_DIR=\"${PROJECT_SOURCE_DIR}\"")
    target_link_libraries(test_${folder} PRIVATE test_main Boost::headers ZLIB::ZLIB)
    if(TARGET test_support)
        target_link_libraries(test_${folder} PRIVATE test_support)
    endif()
    # What a test itself does takes no time, but where it walks or searches; compiling it does.
    if(LINKDRILL_SANITIZE)
        if(folder MATCHES "^(tools|live)$")
            target_compile_options(test_${folder} PRIVATE -O0)
        endif()
    elseif(NOT folder MATCHES "^(exhaustive|published)$")
        target_compile_options(test_${folder} PRIVATE -O1)
    endif()
    # The tests of a layer link that layer, not those above it.
    if(folder STREQUAL "proto")
        target_link_libraries(test_${folder} PRIVATE proto)
    elseif(folder STREQUAL "sim")
        target_link_libraries(test_${folder} PRIVATE sim_reading)
    else()
        target_link_libraries(test_${folder} PRIVATE tools_core)
    endif()

    add_test(NAME test_${folder} COMMAND test_${folder})
    # doctest ends with status 0 when there was nothing to run.
    set_tests_properties(test_${folder} PROPERTIES
        FAIL_REGULAR_EXPRESSION "test cases: +0 "
        ENVIRONMENT "${test_environment}"
        TIMEOUT 1500)
endforeach()

# What starts threads, by itself: the rest of the suite is too slow under the thread sanitizer.
if(LINKDRILL_SANITIZE MATCHES "thread")
    add_test(NAME threads COMMAND test_sim "--test-case=*thread*")
    set_tests_properties(threads PROPERTIES
        FAIL_REGULAR_EXPRESSION "test cases: +0 " ENVIRONMENT "${test_environment}" TIMEOUT 1500 LABELS threaded)
endif()

# ---- Scenarios and profiles that ship ----

file(GLOB_RECURSE scenario_files CONFIGURE_DEPENDS
    RELATIVE "${PROJECT_SOURCE_DIR}/scenarios" "${PROJECT_SOURCE_DIR}/scenarios/*.toml")
list(FILTER scenario_files EXCLUDE REGEX "^drills/[^/]*$")  # run by tests/sim/training
foreach(file IN LISTS scenario_files)
    string(REGEX REPLACE "\\.toml$" "" name "${file}")
    if(name MATCHES "^(profiles|modules)/")
        add_test(NAME "${name}" COMMAND linkdrill check "${PROJECT_SOURCE_DIR}/scenarios/${file}")
    else()
        set(name "scenarios/${name}")
        add_test(NAME "${name}" COMMAND "${CMAKE_COMMAND}"
            -D "LINKDRILL=$<TARGET_FILE:linkdrill>"
            -D "SCENARIO=${PROJECT_SOURCE_DIR}/scenarios/${file}"
            -D "EVIDENCE=${PROJECT_BINARY_DIR}/evidence/${name}"
            -P "${tests_dir}/cmake/run_scenario.cmake")
    endif()
    set_tests_properties("${name}" PROPERTIES TIMEOUT 120)
endforeach()

# ---- Scripts ----

function(add_script_test name)
    add_test(NAME "${name}" COMMAND ${ARGN})
    set_tests_properties("${name}" PROPERTIES ENVIRONMENT "${test_environment}" TIMEOUT 300)
endfunction()

file(GLOB shell_tests CONFIGURE_DEPENDS "${tests_dir}/tools/*.sh")
foreach(script IN LISTS shell_tests)
    cmake_path(GET script STEM name)
    add_script_test("tools/${name}" bash "${script}")
endforeach()

# Every page of documentation: its blocks are run and compared, in a copy of the repository. What the program says is the
# same in every flavour, and the golden net is in all of them.
file(GLOB_RECURSE documentation CONFIGURE_DEPENDS RELATIVE "${PROJECT_SOURCE_DIR}"
    "${PROJECT_SOURCE_DIR}/scenarios/README.md" "${PROJECT_SOURCE_DIR}/tools/README.md")
if(LINKDRILL_SANITIZE)
    set(documentation "")
else()
    list(APPEND documentation README.md)
endif()
foreach(page IN LISTS documentation)
    cmake_path(GET page PARENT_PATH name)
    if(name STREQUAL "")
        set(name front_page)
    endif()
    add_script_test("documentation/${name}" ${python} "${tests_dir}/documentation/page_blocks.py" "${page}")
endforeach()

# The golden net compares and never writes; tests/golden/renew does. The cases are found here as tests/golden/cases.py
# finds them, and the test golden/complete holds both to each other.
add_executable(drill_outcome "${tests_dir}/golden/drill_outcome.cpp")
target_link_libraries(drill_outcome PRIVATE tools_core)
set(golden ${python} "${tests_dir}/golden/golden.py")
file(GLOB golden_drills CONFIGURE_DEPENDS RELATIVE "${PROJECT_SOURCE_DIR}/scenarios"
    "${PROJECT_SOURCE_DIR}/scenarios/drills/*.toml")
list(FILTER golden_drills EXCLUDE REGEX "/actions\\.toml$")
file(GLOB golden_commands CONFIGURE_DEPENDS RELATIVE "${tests_dir}/golden" "${tests_dir}/golden/commands/*/command")
set(golden_cases "")
foreach(file IN LISTS scenario_files golden_drills golden_commands)
    string(REGEX REPLACE "(\\.toml|/command)$" "" name "${file}")
    if(file IN_LIST scenario_files AND NOT name MATCHES "^(profiles|modules)/")
        set(name "scenarios/${name}")
    endif()
    list(APPEND golden_cases "${name}")
    add_script_test("golden/${name}" ${golden} compare "${name}")
    set_property(TEST "golden/${name}" APPEND PROPERTY ENVIRONMENT "DRILL_OUTCOME=$<TARGET_FILE:drill_outcome>")
endforeach()
add_script_test(golden/models ${python} "${tests_dir}/golden/models.py" compare)
add_script_test(golden/complete ${golden} complete ${golden_cases})

# On a cluster's own scheduler, which the test starts and ends; not under sanitizers, it is not what they look at.
if(NOT LINKDRILL_SANITIZE)
    add_script_test(cluster/slurm bash "${tests_dir}/cluster/slurm.sh")
    set_tests_properties(cluster/slurm PROPERTIES RUN_SERIAL TRUE TIMEOUT 600 SKIP_RETURN_CODE 77)
endif()

# In a browser; what they need from npm goes into the build folder, see tests/browser/setup.
# The pages are the same whoever wrote them, so a flavour with sanitizers does without.
file(GLOB browser_tests CONFIGURE_DEPENDS "${tests_dir}/browser/*.sh")
file(GLOB pages_tests CONFIGURE_DEPENDS "${tests_dir}/pages/*.sh")
if(LINKDRILL_SANITIZE)
    set(browser_tests "")
    set(pages_tests "")
endif()
foreach(script IN LISTS browser_tests)
    cmake_path(GET script STEM name)
    add_script_test("browser/${name}" bash "${script}")
    set_tests_properties("browser/${name}" PROPERTIES RUN_SERIAL TRUE TIMEOUT 900)
endforeach()

# Of the pages' modules: types, format, and what needs no browser.
foreach(script IN LISTS pages_tests)
    cmake_path(GET script STEM name)
    add_script_test("pages/${name}" bash "${script}")
endforeach()

# series_figures says the program's own figures to those that compare them.
add_executable(series_figures "${tests_dir}/published/series_figures.cpp")
target_link_libraries(series_figures PRIVATE tools_core)
file(GLOB published_tests CONFIGURE_DEPENDS "${tests_dir}/published/*.py")
foreach(script IN LISTS published_tests)
    cmake_path(GET script STEM name)
    add_script_test("published/${name}" ${python} "${script}")
    set_property(TEST "published/${name}" APPEND PROPERTY ENVIRONMENT "SERIES_FIGURES=$<TARGET_FILE:series_figures>")
endforeach()

include("${tests_dir}/cmake/fuzz.cmake")

# Live tests keep real time: alone, and known by their label. On a computer too busy for that they end with 77: skipped.
file(GLOB live_tests CONFIGURE_DEPENDS "${tests_dir}/live/*.py")
foreach(script IN LISTS live_tests)
    cmake_path(GET script STEM name)
    add_script_test("live/${name}" ${python} "${script}")
    set_tests_properties("live/${name}" PROPERTIES RUN_SERIAL TRUE LABELS live SKIP_RETURN_CODE 77)
endforeach()

file(GLOB checks CONFIGURE_DEPENDS "${tests_dir}/cmake/check_*.py")
foreach(script IN LISTS checks)
    cmake_path(GET script STEM name)
    string(REPLACE "check_" "checks/" name "${name}")
    add_script_test("${name}" ${python} "${script}" "${PROJECT_SOURCE_DIR}")
    set_tests_properties("${name}" PROPERTIES SKIP_RETURN_CODE 77)
endforeach()

# ---- Each header of proto and sim compiles alone ----

# One generated translation unit per header, part of the ordinary build; with sanitizers nothing of that is new.
if(NOT LINKDRILL_SANITIZE)
    set_target_properties(proto sim PROPERTIES VERIFY_INTERFACE_HEADER_SETS ON)
    add_custom_target(verify_headers ALL)
    cmake_language(DEFER DIRECTORY "${PROJECT_SOURCE_DIR}" CALL add_dependencies verify_headers
        proto_verify_interface_header_sets sim_verify_interface_header_sets)
endif()
