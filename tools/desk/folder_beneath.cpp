#include "tools/desk/folder_beneath.hpp"

#include <algorithm>
#include <array>
#include <cerrno>
#include <cstdlib>
#include <filesystem>
#include <system_error>

#include <fcntl.h>
#include <linux/openat2.h>
#include <sys/stat.h>
#include <sys/syscall.h>
#include <unistd.h>

#include "sim/reading/utf8_text.hpp"
#include "tools/desk/whole_file.hpp"
#include "tools/text/text.hpp"

namespace tools {
namespace {

namespace fs = std::filesystem;

constexpr std::size_t name_bytes_max = 200;  // drafts have longer names, and 255 is the most

bool has_control(std::string_view name) {
    return std::any_of(name.begin(), name.end(),
                       [](char c) { return static_cast<unsigned char>(c) < 0x20 || c == 0x7F; });
}

std::vector<std::string> parts_of(const std::string& name) {
    std::vector<std::string> parts;
    for (std::size_t at = 0;;) {
        const std::size_t end = std::min(name.find('/', at), name.size());
        parts.push_back(name.substr(at, end - at));
        if (end == name.size()) return parts;
        at = end + 1;
    }
}

constexpr unsigned folder_flags = O_RDONLY | O_DIRECTORY | O_CLOEXEC | O_NOFOLLOW;

/// One step after the other, for kernels before 5.6.
Descriptor opened_stepwise(int folder, const std::vector<std::string>& parts) {
    Descriptor at(::openat(folder, ".", static_cast<int>(folder_flags)));
    for (const std::string& part : parts) {
        if (!at.open()) break;
        Descriptor next(::openat(at.number(), part.c_str(), static_cast<int>(folder_flags)));
        const int error = errno;
        at = std::move(next);
        errno = error;
    }
    return at;
}

Descriptor opened_beneath(int folder, const std::vector<std::string>& parts) {
    if (parts.empty()) return Descriptor(::openat(folder, ".", static_cast<int>(folder_flags)));
    std::string path;
    for (const std::string& part : parts) path += (path.empty() ? "" : "/") + part;
    open_how how{};
    how.flags = folder_flags;
    how.resolve = RESOLVE_BENEATH | RESOLVE_NO_SYMLINKS | RESOLVE_NO_MAGICLINKS;
    const long opened = ::syscall(SYS_openat2, folder, path.c_str(), &how, sizeof how);
    if (opened >= 0) return Descriptor(static_cast<int>(opened));
    // a kernel or a sandbox without it
    if (errno == ENOSYS || errno == EPERM) return opened_stepwise(folder, parts);
    return Descriptor();
}

}  // namespace

Descriptor& Descriptor::operator=(Descriptor&& other) noexcept {
    if (this != &other) {
        close();
        number_ = other.number_;
        other.number_ = -1;
    }
    return *this;
}

bool Descriptor::close() {
    const int number = number_;
    number_ = -1;
    return number < 0 || ::close(number) == 0;
}

proto::Result<FolderBeneath, Failure> FolderBeneath::open(const std::string& path) {
    auto folder = std::make_shared<Descriptor>(::open(path.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC));
    if (!folder->open()) {
        const int error = errno;
        if (error == ENOENT) return Failure{Status::bad_input, path, 0, {}, "no such folder; name one that is there"};
        if (error == ENOTDIR)
            return Failure{Status::bad_input, path, 0, {}, "is no folder; name the folder of your files"};
        return no_to(path, "cannot be opened", error);
    }
    std::error_code error;
    const fs::path whole = fs::canonical(path, error);
    return FolderBeneath(path, error ? path : whole.string(), std::move(folder));
}

proto::Result<PlaceBeneath, Failure> FolderBeneath::place(const std::string& name) const {
    const auto no = [&](const char* words) { return Failure{Status::bad_input, on_one_line(name), 0, {}, words}; };
    std::vector<std::string> parts = parts_of(name);
    for (const std::string& part : parts)
        if (part.empty() || part == "." || part == ".." || has_control(part))
            return no("leads out of the folder, or nowhere; name a file in it");
    if (sim::not_utf8("", name)) return no("has a name that is no UTF-8; rename it");
    std::string leaf = std::move(parts.back());
    parts.pop_back();
    auto folder = std::make_shared<Descriptor>(opened_beneath(folder_->number(), parts));
    if (!folder->open()) {
        if (errno == ELOOP || errno == EXDEV || errno == ENOTDIR)
            return no("leads through a link, or through what is no folder; links are not followed");
        if (errno == ENOENT) return no("no such folder on the way to it");
        return no_to(name, "cannot be reached", errno);
    }
    std::string own = whole_;
    for (const std::string& part : parts) own += "/" + part;
    const std::string shown = path_ == "." ? name : path_ + (path_.ends_with('/') ? "" : "/") + name;
    return PlaceBeneath{std::move(folder), std::move(leaf), name, shown, std::move(own)};
}

bool FolderBeneath::removed() const { return is_removed(folder_->number()); }

std::string path_of(int folder) {
    std::array<char, 4096> path{};
    const std::string link = "/proc/self/fd/" + std::to_string(folder);
    const ssize_t length = ::readlink(link.c_str(), path.data(), path.size());
    return length > 0 ? std::string(path.data(), static_cast<std::size_t>(length)) : std::string();
}

bool is_removed(int folder) {
    struct stat own {};
    if (::fstat(folder, &own) != 0 || own.st_nlink == 0) return true;
    // not every file system counts the links of a folder; the kernel says so in its path
    const std::string path = path_of(folder);
    struct stat there {};
    return path.ends_with(" (deleted)") && (::stat(path.c_str(), &there) != 0 || there.st_ino != own.st_ino);
}

std::vector<std::string> FolderBeneath::toml_files() const {
    constexpr std::size_t files_max = 1000;
    std::vector<std::string> names;
    for (const std::string& name : names_in(folder_->number())) {
        if (name.starts_with('.') || !name.ends_with(".toml") || has_control(name) || sim::not_utf8("", name)) continue;
        struct stat about {};
        const bool regular =
            ::fstatat(folder_->number(), name.c_str(), &about, AT_SYMLINK_NOFOLLOW) == 0 && S_ISREG(about.st_mode);
        if (regular) names.push_back(name);
    }
    std::sort(names.begin(), names.end());
    if (names.size() > files_max) names.resize(files_max);
    return names;
}

std::optional<std::string> new_name_fault(std::string_view name) {
    constexpr std::string_view ending = ".toml";
    if (name.empty() || name == ending) return "a file needs a name, such as debarker.toml";
    if (name.find_first_of("/\\") != std::string_view::npos)
        return "the name of a new file holds no / and no \\, since it lies in the folder itself";
    if (has_control(name)) return "the name of a new file is on one line, without control characters";
    if (name.starts_with('.')) return "the name of a new file begins with no dot";
    if (name.starts_with('-')) return "the name of a new file begins with no -, which commands take for an option";
    if (name.front() == ' ') return "the name of a new file begins with no blank";
    if (!name.ends_with(ending)) return "the name of a new file ends in .toml";
    if (name.size() > name_bytes_max)
        return "the name of a new file has at most " + std::to_string(name_bytes_max) + " bytes";
    if (sim::not_utf8("", name)) return "the name of a new file is UTF-8";
    return std::nullopt;
}

}  // namespace tools
