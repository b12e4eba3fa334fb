#include "tools/desk/file_home.hpp"

#include <filesystem>
#include <system_error>

#include <fcntl.h>
#include <unistd.h>

#include "tools/desk/whole_file.hpp"

namespace tools {

bool FileHome::writable() const { return ::faccessat(place_.folder->number(), ".", W_OK | X_OK, AT_EACCESS) == 0; }

std::optional<Failure> FileHome::make() const {
    std::error_code failed;
    std::filesystem::create_directories(place_.folder_path, failed);
    if (failed) return no_to(place_.folder_path, "cannot be made again", failed.value());
    return std::nullopt;
}

bool FileHome::find() {
    if (folder_.removed()) {
        auto there = FolderBeneath::open(folder_.whole());
        if (!there) return false;
        folder_ = std::move(there).value();
    }
    auto place = folder_.place(place_.name);
    if (!place) return false;
    place_ = std::move(place).value();
    return true;
}

}  // namespace tools
