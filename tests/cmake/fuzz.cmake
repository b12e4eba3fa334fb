# Fuzz targets: tests/fuzz/NAME_fuzz.cpp makes the program fuzz_NAME and the test fuzz/NAME, which runs it over the
# files of tests/fuzz/corpus/NAME. With LINKDRILL_FUZZ the programs have libFuzzer's main() (tests/fuzz/run drives
# them), else that of tests/fuzz/replay.cpp.
set(fuzz_dir "${PROJECT_SOURCE_DIR}/tests/fuzz")

# Archives, so that a target holds only what it uses: libFuzzer looks through all of a program after each run.
add_library(tools_archive STATIC EXCLUDE_FROM_ALL $<TARGET_OBJECTS:tools_core>)
target_link_libraries(tools_archive PUBLIC sim_reading sim_live CLI11::CLI11 nlohmann_json::nlohmann_json
    spdlog::spdlog SQLite::SQLite3 Boost::headers)

file(GLOB fuzz_files CONFIGURE_DEPENDS "${fuzz_dir}/*_fuzz.cpp")
set(fuzz_source "LINKDRILL_SOURCE_DIR=\"${PROJECT_SOURCE_DIR}\"")
add_library(fuzz_replay OBJECT EXCLUDE_FROM_ALL "${fuzz_dir}/replay.cpp")
target_compile_definitions(fuzz_replay PRIVATE "${fuzz_source}")
add_custom_target(fuzz_targets)
foreach(file IN LISTS fuzz_files)
    cmake_path(GET file STEM name)
    string(REGEX REPLACE "_fuzz$" "" name "${name}")
    add_executable(fuzz_${name} "${file}")
    add_dependencies(fuzz_targets fuzz_${name})
    target_compile_definitions(fuzz_${name} PRIVATE "${fuzz_source}")
    # The targets of a layer link that layer, not those above it, as tests do.
    file(STRINGS "${file}" above REGEX "^#include \"(tools/|tests/fuzz/few)")
    if(above)
        target_link_libraries(fuzz_${name} PRIVATE tools_archive)
    else()
        target_link_libraries(fuzz_${name} PRIVATE sim_reading)
    endif()
    set(command fuzz_${name})
    if(LINKDRILL_FUZZ)
        target_link_options(fuzz_${name} PRIVATE -fsanitize=fuzzer)
        list(APPEND command -runs=0 -timeout=60 -rss_limit_mb=1500)
    else()
        target_link_libraries(fuzz_${name} PRIVATE fuzz_replay)
    endif()
    add_test(NAME fuzz/${name} COMMAND ${command} "${fuzz_dir}/corpus/${name}")
    set_tests_properties(fuzz/${name} PROPERTIES TIMEOUT 300)
endforeach()

# On request, where the layout of a campaign's store has changed: makes that corpus anew.
add_executable(fuzz_make_stores EXCLUDE_FROM_ALL "${fuzz_dir}/make_stores.cpp")
target_compile_definitions(fuzz_make_stores PRIVATE "${fuzz_source}")
target_link_libraries(fuzz_make_stores PRIVATE tools_archive)
