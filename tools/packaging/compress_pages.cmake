# Debian wants the manual page and the changelog compressed, without a time in them. Run by CPack on what it installed.
file(GLOB_RECURSE pages "${CMAKE_INSTALL_PREFIX}/share/man/*.1" "${CMAKE_INSTALL_PREFIX}/share/doc/*/changelog")
if(NOT pages)
    file(GLOB_RECURSE pages "$ENV{DESTDIR}${CMAKE_INSTALL_PREFIX}/share/man/*.1"
        "$ENV{DESTDIR}${CMAKE_INSTALL_PREFIX}/share/doc/*/changelog")
endif()
foreach(page IN LISTS pages)
    execute_process(COMMAND gzip -9nf "${page}" COMMAND_ERROR_IS_FATAL ANY)
endforeach()
