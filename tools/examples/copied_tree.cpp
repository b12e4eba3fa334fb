#include "tools/examples/copied_tree.hpp"

#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <filesystem>
#include <optional>
#include <system_error>

#include "tools/examples/copied_file.hpp"
#include "tools/program/interrupt.hpp"

namespace tools {
namespace {

namespace fs = std::filesystem;

struct Tree {
    std::vector<std::string> folders, files;  ///< below its root; each folder before what is in it
};

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

std::optional<Failure> fill(const fs::path& from, const fs::path& to, const Tree& tree) {
    std::error_code error;
    fs::create_directories(to, error);
    if (error) return not_written(to, error.value());
    for (const std::string& folder : tree.folders) {
        fs::create_directory(to / folder, error);
        if (error) return not_written(to / folder, error.value());
    }
    for (const std::string& file : tree.files)
        if (auto failure = copy_file_anew(from / file, to / file)) return failure;
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
    if (!failure && ::rename(staged.c_str(), to.c_str()) != 0) failure = not_written(to, errno);
    if (!failure) return tree.value().files;
    std::error_code ignored;
    fs::remove_all(staged, ignored);
    return *failure;
}

}  // namespace tools
