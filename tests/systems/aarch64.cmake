# Builds for 64-bit ARM Linux on another Debian: cmake -S . -B build-arm64 -G Ninja -D CMAKE_TOOLCHAIN_FILE=tests/systems/aarch64.cmake
# needs g++-aarch64-linux-gnu and the libraries of tools/setup as NAME:arm64; tests/systems/arm64 does all of it.
set(CMAKE_SYSTEM_NAME Linux)
set(CMAKE_SYSTEM_PROCESSOR aarch64)
set(CMAKE_LIBRARY_ARCHITECTURE aarch64-linux-gnu)
set(triple aarch64-linux-gnu)
set(CMAKE_C_COMPILER ${triple}-gcc)
set(CMAKE_CXX_COMPILER ${triple}-g++)
# What runs while building or testing, where no such processor is.
set(CMAKE_CROSSCOMPILING_EMULATOR qemu-aarch64)
# Debian keeps the libraries of another processor beside those of this one, and so their descriptions.
find_program(PKG_CONFIG_EXECUTABLE ${triple}-pkg-config)
if(NOT PKG_CONFIG_EXECUTABLE)
    set(ENV{PKG_CONFIG_LIBDIR} "/usr/lib/${triple}/pkgconfig:/usr/share/pkgconfig")
endif()
