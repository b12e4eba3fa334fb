# Rehearses one scenario and asserts what its file says about the verdict.
#   cmake -D LINKDRILL=program -D SCENARIO=file.toml -D EVIDENCE=folder -P run_scenario.cmake
# A file without `expect_verdict` expects "pass". A scenario may expect "fail" or "dangerous", to show what its link
# cannot see: the status is 1 all the same, and the program must say that this was expected.

# Only the keys above the first table header count.
file(READ "${SCENARIO}" text)
string(FIND "${text}" "\n[" end_of_keys)
string(SUBSTRING "${text}" 0 ${end_of_keys} keys)
set(expected "pass")
if(keys MATCHES "(^|\n)expect_verdict[ \t]*=[ \t]*[\"']([^\"']*)[\"']")
    set(expected "${CMAKE_MATCH_2}")
endif()

if(expected STREQUAL "pass")
    set(expected_status 0)
elseif(expected MATCHES "^(fail|dangerous)$")
    set(expected_status 1)
else()
    message(FATAL_ERROR "${SCENARIO}: expect_verdict = \"${expected}\": a shipped scenario expects pass, fail or dangerous")
endif()

execute_process(
    COMMAND "${LINKDRILL}" run "${SCENARIO}" --json --out "${EVIDENCE}"
    OUTPUT_VARIABLE json ERROR_VARIABLE errors RESULT_VARIABLE status)

set(all "status: ${status}\nstandard error: ${errors}\nstandard output: ${json}")
if(NOT status STREQUAL expected_status)
    message(FATAL_ERROR "${SCENARIO}: expected status ${expected_status}\n${all}")
endif()
string(JSON verdict ERROR_VARIABLE problem GET "${json}" verdict)
if(NOT verdict STREQUAL expected)
    message(FATAL_ERROR "${SCENARIO}: expected the verdict ${expected}, got ${verdict}\n${all}")
endif()
string(JSON type ERROR_VARIABLE problem TYPE "${json}" as_expected)
string(JSON as_expected ERROR_VARIABLE problem GET "${json}" as_expected)
if(NOT type STREQUAL "BOOLEAN" OR NOT as_expected)
    message(FATAL_ERROR "${SCENARIO}: as_expected is ${as_expected}\n${all}")
endif()
file(GLOB evidence "${EVIDENCE}/*")
if(NOT evidence)
    message(FATAL_ERROR "${SCENARIO}: no evidence in ${EVIDENCE}\n${all}")
endif()
