# Debian wants the manual page and the changelog compressed, without a time in them. CPack runs it on what is installed
# and not yet packed.
file(GLOB_RECURSE pages "${CPACK_TEMPORARY_INSTALL_DIRECTORY}/*/linkdrill.1"
    "${CPACK_TEMPORARY_INSTALL_DIRECTORY}/*/changelog")
list(LENGTH pages count)
if(NOT count EQUAL 2)
    message(FATAL_ERROR "a manual page and a changelog are to be compressed, but there are ${count}: ${pages}")
endif()
foreach(page IN LISTS pages)
    execute_process(COMMAND gzip -9nf "${page}" COMMAND_ERROR_IS_FATAL ANY)
endforeach()
