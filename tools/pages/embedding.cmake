# What is built into the program besides code, in embedded.cpp. Included by the CMakeLists.txt of the root.

# Files by name: what a page that is written holds. A script with "bundle:" comes with all that it imports, as one.
find_file(chart_library NAMES chart.min.js PATHS /usr/share/javascript/chart.js REQUIRED
    DOC "Chart.js 3.9, of Debian's package libjs-chart.js")
set(report_pages "${PROJECT_SOURCE_DIR}/tools/report/pages")
set(embedded_files
    "chart_library=${chart_library}"
    "drawings_style=${PROJECT_SOURCE_DIR}/tools/pages/drawings.css"
    "report_script=bundle:${report_pages}/report.js"
    "report_style=${report_pages}/report.css"
    "sheet_script=bundle:${report_pages}/sheet.js"
    "sheet_style=${report_pages}/sheet.css")

# The schemas by which documents that are read back are looked at, as NAME_schema.
set(schemas "")
foreach(name acceptance campaign cell cell_plant endurance link_residual measures plant residual response result timeline watchdog)
    list(APPEND schemas "${PROJECT_SOURCE_DIR}/tools/schema/${name}.schema.json")
    list(APPEND embedded_files "${name}_schema=${PROJECT_SOURCE_DIR}/tools/schema/${name}.schema.json")
endforeach()

# Pages that are served over HTTP, each file under its path below tools/: what all share, and a folder for each.
set(served_folders pages training/pages desk/pages)

set(served_globs "")
foreach(folder IN LISTS served_folders)
    foreach(kind js css html)
        list(APPEND served_globs "${PROJECT_SOURCE_DIR}/tools/${folder}/*.${kind}")
    endforeach()
endforeach()
file(GLOB served_files CONFIGURE_DEPENDS RELATIVE "${PROJECT_SOURCE_DIR}/tools" ${served_globs})
file(GLOB embedded_sources CONFIGURE_DEPENDS "${report_pages}/*" ${served_globs})
add_custom_command(OUTPUT embedded.cpp
    COMMAND "${CMAKE_COMMAND}" -D "OUTPUT=${PROJECT_BINARY_DIR}/embedded.cpp" -D "TOOLS=${PROJECT_SOURCE_DIR}/tools"
        -D "FILES=${embedded_files}" -D "SERVED=${served_files}" -P "${PROJECT_SOURCE_DIR}/tools/pages/embed.cmake"
    DEPENDS ${embedded_sources} ${schemas} "${chart_library}" tools/pages/embed.cmake
    COMMENT "Embedding pages, scripts, styles and the chart library"
    VERBATIM)
