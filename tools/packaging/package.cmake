# The Debian package: cpack -G DEB in a build folder that tools/package has set up.

set(CPACK_GENERATOR DEB)
set(CPACK_PACKAGE_NAME linkdrill)
set(CPACK_PACKAGE_VERSION "${PROJECT_VERSION}")
# Each file of its own release of Debian: the names of libraries differ.
set(CPACK_PACKAGE_CONTACT "the owner of linkdrill <owner@linkdrill.invalid>")
set(CPACK_PACKAGE_DESCRIPTION_SUMMARY "rehearse a safety link on a desk")
set(CPACK_PACKAGE_DESCRIPTION "Two simulated ends exchange safety telegrams over a channel that misbehaves on
purpose. For each fault linkdrill tells which measure caught it, at which end,
after how long, and when the machine was slow or stood. It compares the
settings of the two ends, reckons watchdog, response time and distance, and
serves pages on which people find faults on live links.

It is no certified tool and no safety device, and does not replace the
measurements on the machine.")
set(CPACK_PACKAGING_INSTALL_PREFIX /usr)
set(CPACK_STRIP_FILES ON)
set(CPACK_PRE_BUILD_SCRIPTS "${CMAKE_CURRENT_LIST_DIR}/compress_pages.cmake")

set(CPACK_DEBIAN_FILE_NAME DEB-DEFAULT)
set(CPACK_DEBIAN_PACKAGE_SECTION science)
set(CPACK_DEBIAN_PACKAGE_PRIORITY optional)
set(CPACK_DEBIAN_PACKAGE_SHLIBDEPS ON)
set(CPACK_DEBIAN_PACKAGE_CONTROL_STRICT_PERMISSION ON)

include(CPack)
