# What cmake --install puts where, under GNUInstallDirs; and from what the manual page and the completions are made.
# Own files are found from the program by ../share/linkdrill, so that a prefix can be moved as a whole.

include(GNUInstallDirs)
set(own_files "${CMAKE_INSTALL_DATADIR}/linkdrill")

install(TARGETS linkdrill RUNTIME)
install(DIRECTORY scenarios DESTINATION "${own_files}" PATTERN ".*" EXCLUDE)
install(DIRECTORY tools/schema DESTINATION "${own_files}" FILES_MATCHING PATTERN "*.json")
if(EXISTS "${PROJECT_SOURCE_DIR}/tools/cluster")
    install(DIRECTORY tools/cluster DESTINATION "${own_files}" USE_SOURCE_PERMISSIONS)
endif()

# ---- Manual page and completions, told by the program itself ----

# Where no program of the target runs there is none of them; the program tells them itself on its own machine.
if(CMAKE_CROSSCOMPILING AND NOT CMAKE_CROSSCOMPILING_EMULATOR)
    message(STATUS "Cross-compiling without CMAKE_CROSSCOMPILING_EMULATOR: no manual page and no completions are "
        "installed; linkdrill completion prints them where it runs")
else()
    set(made_dir "${PROJECT_BINARY_DIR}/completion")
    file(MAKE_DIRECTORY "${made_dir}")
    set(made "")
    # written under another name first: a file that is there is whole
    function(told_by_program kind name)
        add_custom_command(OUTPUT "${made_dir}/${name}"
            COMMAND linkdrill completion ${kind} > "${made_dir}/${name}.new"
            COMMAND "${CMAKE_COMMAND}" -E rename "${made_dir}/${name}.new" "${made_dir}/${name}"
            DEPENDS linkdrill VERBATIM)
        set(made ${made} "${made_dir}/${name}" PARENT_SCOPE)
    endfunction()
    told_by_program(man linkdrill.1)
    told_by_program(bash linkdrill.bash)
    told_by_program(zsh _linkdrill)
    told_by_program(fish linkdrill.fish)
    add_custom_target(completion ALL DEPENDS ${made})

    install(FILES "${made_dir}/linkdrill.1" DESTINATION "${CMAKE_INSTALL_MANDIR}/man1")
    install(FILES "${made_dir}/linkdrill.bash" RENAME linkdrill
        DESTINATION "${CMAKE_INSTALL_DATADIR}/bash-completion/completions")
    # Debian's zsh looks beside its own functions when it is a package that brings them
    set(zsh_functions site-functions)
    if(LINKDRILL_DEBIAN_PATHS)
        set(zsh_functions vendor-completions)
    endif()
    install(FILES "${made_dir}/_linkdrill" DESTINATION "${CMAKE_INSTALL_DATADIR}/zsh/${zsh_functions}")
    install(FILES "${made_dir}/linkdrill.fish" DESTINATION "${CMAKE_INSTALL_DATADIR}/fish/vendor_completions.d")
endif()

# ---- Pages for people ----

# The page and what it links to of this repository, as paths below it, each page's links followed.
function(pages_reached_from page found)
    set(todo "${page}")
    set(seen "")
    while(todo)
        list(POP_FRONT todo file)
        if(file IN_LIST seen OR IS_DIRECTORY "${PROJECT_SOURCE_DIR}/${file}"
                OR NOT EXISTS "${PROJECT_SOURCE_DIR}/${file}")
            continue()
        endif()
        list(APPEND seen "${file}")
        if(NOT file MATCHES "\\.md$")
            continue()
        endif()
        set_property(DIRECTORY APPEND PROPERTY CMAKE_CONFIGURE_DEPENDS "${PROJECT_SOURCE_DIR}/${file}")
        file(READ "${PROJECT_SOURCE_DIR}/${file}" text)
        # no brackets in what becomes a list
        string(REPLACE "](" "LINK:" text "${text}")
        string(REGEX MATCHALL "LINK:[^]()#:; ]+" links "${text}")
        cmake_path(GET file PARENT_PATH folder)
        foreach(link IN LISTS links)
            string(SUBSTRING "${link}" 5 -1 link)
            cmake_path(APPEND folder "${link}" OUTPUT_VARIABLE path)
            cmake_path(NORMAL_PATH path)
            list(APPEND todo "${path}")
        endforeach()
    endwhile()
    set(${found} "${seen}" PARENT_SCOPE)
endfunction()

pages_reached_from(README.md pages)
foreach(page IN LISTS pages)
    if(page MATCHES "^(scenarios/|\\.\\.)")
        continue()  # there by the link below
    endif()
    cmake_path(GET page PARENT_PATH folder)
    install(FILES "${page}" DESTINATION "${CMAKE_INSTALL_DOCDIR}/${folder}")
endforeach()
# so that the pages' links to scenarios hold
cmake_path(SET scenarios_seen_from_doc NORMALIZE "${CMAKE_INSTALL_DOCDIR}")
cmake_path(RELATIVE_PATH own_files BASE_DIRECTORY "${scenarios_seen_from_doc}" OUTPUT_VARIABLE link_target)
file(MAKE_DIRECTORY "${PROJECT_BINARY_DIR}/packaging")
file(CREATE_LINK "${link_target}/scenarios" "${PROJECT_BINARY_DIR}/packaging/scenarios" SYMBOLIC)
install(FILES "${PROJECT_BINARY_DIR}/packaging/scenarios" DESTINATION "${CMAKE_INSTALL_DOCDIR}")

install(FILES tools/packaging/copyright tools/packaging/changelog DESTINATION "${CMAKE_INSTALL_DOCDIR}")
