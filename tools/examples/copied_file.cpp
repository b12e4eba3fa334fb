#include "tools/examples/copied_file.hpp"

#include <fcntl.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>
#include <fstream>
#include <iterator>
#include <string_view>

namespace tools {

Failure not_written(const std::string& path, int error) {
    return machine_said_no(
        path, std::string(std::strerror(error)) + "; write a new name where you may write, on a disk with room");
}

std::optional<Failure> copy_file_anew(const std::string& from, const std::string& to) {
    const auto content = content_of(from);
    if (!content) return content.error();
    return write_anew(content.value(), to);
}

proto::Result<std::string, Failure> content_of(const std::string& path) {
    std::ifstream in(path, std::ios::binary);
    std::string content((std::istreambuf_iterator<char>(in)), std::istreambuf_iterator<char>());
    if (!in) return machine_said_no(path, "cannot be read; check its rights");
    return content;
}

std::optional<Failure> write_anew(std::string_view content, const std::string& to) {
    constexpr mode_t may_be_written = 0666;  // less what the umask takes
    const int file = ::open(to.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC | O_NOFOLLOW, may_be_written);
    if (file < 0) return not_written(to, errno);
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
    if (error == 0) return std::nullopt;
    ::unlink(to.c_str());
    return not_written(to, error);
}

}  // namespace tools
