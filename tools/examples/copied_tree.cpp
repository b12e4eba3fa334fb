#include "tools/examples/copied_tree.hpp"

#include <fcntl.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstring>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <optional>
#include <system_error>

#include "tools/program/interrupt.hpp"

namespace tools {
namespace {

namespace fs = std::filesystem;

struct Tree {
    std::vector<std::string> folders, files;  ///< below its root; each folder before what is in it
};

Failure no(const fs::path& path, int error) {
    return machine_said_no(path.string(),
                           std::string(std::strerror(error)) +
                               "; write the name of a new folder where you may write, on a disk with room");
}

/// All of it, before anything is written: the copy may lie inside.
proto::Result<Tree, Failure> tree_below(const fs::path& root) {
    Tree tree;
    std::error_code error;
    for (fs::recursive_directory_iterator entry(root, error), end; !error && entry != end; entry.increment(error)) {
        const bool folder = entry->is_directory(error);
        if (entry->path().filename().string().starts_with(".")) {
            if (folder) entry.disable_recursion_pending();
            continue;
        }
        const std::string name = entry->path().lexically_relative(root).string();
        if (folder) tree.folders.push_back(name);
        if (entry->is_regular_file(error)) tree.files.push_back(name);
    }
    if (error) return machine_said_no(root.string(), error.message() + "; check the rights of linkdrill's own files");
    std::sort(tree.folders.begin(), tree.folders.end());
    std::sort(tree.files.begin(), tree.files.end());
    return tree;
}

std::optional<Failure> copy_of_file(const fs::path& from, const fs::path& to) {
    std::ifstream in(from, std::ios::binary);
    const std::string content((std::istreambuf_iterator<char>(in)), std::istreambuf_iterator<char>());
    if (!in) return machine_said_no(from.string(), "cannot be read; check its rights");
    constexpr mode_t may_be_written = 0666;  // less what the umask takes
    const int file = ::open(to.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC | O_NOFOLLOW, may_be_written);
    if (file < 0) return no(to, errno);
    std::string_view left = content;
    int error = 0;
    while (!left.empty() && error == 0) {
        const ssize_t written = ::write(file, left.data(), left.size());
        if (written >= 0)
            left.remove_prefix(static_cast<std::size_t>(written));
        else if (errno != EINTR)
            error = errno;
    }
    if (error == 0 && ::fsync(file) != 0) error = errno;
    if (::close(file) != 0 && error == 0) error = errno;
    if (error != 0) return no(to, error);
    return std::nullopt;
}

std::optional<Failure> fill(const fs::path& from, const fs::path& to, const Tree& tree) {
    std::error_code error;
    fs::create_directories(to, error);
    if (error) return no(to, error.value());
    for (const std::string& folder : tree.folders) {
        fs::create_directory(to / folder, error);
        if (error) return no(to / folder, error.value());
    }
    for (const std::string& file : tree.files)
        if (auto failure = copy_of_file(from / file, to / file)) return failure;
    return std::nullopt;
}

}  // namespace

proto::Result<std::vector<std::string>, Failure> copy_tree(const std::string& from, const std::string& to) {
    const auto tree = tree_below(from);
    if (!tree) return tree.error();
    const HoldInterrupt hold;
    const fs::path staged = to + ".unfinished-" + std::to_string(::getpid());
    auto failure = fill(from, staged, tree.value());
    // onto an empty folder too, but never onto one that got something meanwhile
    if (!failure && ::rename(staged.c_str(), to.c_str()) != 0) failure = no(to, errno);
    if (!failure) return tree.value().files;
    std::error_code ignored;
    fs::remove_all(staged, ignored);
    return *failure;
}

}  // namespace tools
