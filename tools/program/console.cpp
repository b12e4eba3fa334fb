#include "tools/program/console.hpp"

#include <cerrno>
#include <cstdlib>
#include <cstring>

#include <sys/ioctl.h>
#include <unistd.h>

namespace tools {
namespace {

std::optional<std::string> write_all(int descriptor, std::string_view text) {
    while (!text.empty()) {
        const ssize_t written = ::write(descriptor, text.data(), text.size());
        if (written < 0 && errno == EINTR) continue;
        if (written < 0) return std::strerror(errno);
        text.remove_prefix(static_cast<std::size_t>(written));
    }
    return std::nullopt;
}

}  // namespace

std::optional<std::string> write_out(std::string_view text) { return write_all(STDOUT_FILENO, text); }

void write_error_line(std::string_view line) { write_all(STDERR_FILENO, std::string(line) + "\n"); }

Colour colour_of_output() {
    const char* no_color = std::getenv("NO_COLOR");
    const char* term = std::getenv("TERM");
    const bool wanted = (no_color == nullptr || *no_color == '\0') && term != nullptr && std::strcmp(term, "dumb") != 0;
    return wanted && ::isatty(STDOUT_FILENO) == 1 ? Colour::on : Colour::off;
}

Columns columns_of_output() {
    winsize size{};
    const bool known =
        ::isatty(STDOUT_FILENO) == 1 && ::ioctl(STDOUT_FILENO, TIOCGWINSZ, &size) == 0 && size.ws_col > 0;
    return known ? Columns::of_terminal(size.ws_col) : Columns{};
}

}  // namespace tools
