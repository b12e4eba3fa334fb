#pragma once
#include <unistd.h>

#include <filesystem>
#include <string>

namespace tests {

/// A file of its own for the store, gone at the end.
struct StoreFile {
    std::filesystem::path path;
    explicit StoreFile(const std::string& name)
        : path(std::filesystem::temp_directory_path() /
               ("linkdrill_" + name + "_" + std::to_string(getpid()) + ".sqlite")) {
        clear();
    }
    ~StoreFile() { clear(); }
    StoreFile(const StoreFile&) = delete;
    StoreFile& operator=(const StoreFile&) = delete;
    void clear() const {
        for (const char* end : {"", "-wal", "-shm"}) std::filesystem::remove(path.string() + end);
    }
};

}  // namespace tests
