#include "tools/program/progress.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

#include <unistd.h>

#include "tools/program/console.hpp"

namespace tools {
namespace {

constexpr std::chrono::milliseconds on_a_terminal{200}, elsewhere{10'000}, not_before{1'000};

void put(const std::string& text) {
    // progress is no result: whatever happens to it is of no concern
    [[maybe_unused]] const ssize_t written = ::write(STDERR_FILENO, text.data(), text.size());
}

}  // namespace

Progress::Progress(std::string what, Shown shown)
    : what_(std::move(what)),
      shown_(shown == Shown::yes),
      terminal_(::isatty(STDERR_FILENO) == 1),
      begun_(Clock::now()),
      last_(begun_) {}

Progress::~Progress() {
    if (line_open_) put("\r\x1b[K");
}

bool Progress::due() {
    if (!shown_) return false;
    const Clock::time_point now = Clock::now();
    if (now - begun_ < not_before || now - last_ < (terminal_ ? on_a_terminal : elsewhere)) return false;
    last_ = now;
    return true;
}

void Progress::write(const std::string& line) {
    if (!terminal_) return write_error_line(line);
    put("\r\x1b[K" + line);
    line_open_ = true;
}

void Progress::tell(double share, std::string_view detail) {
    if (!due()) return;
    const double spent = std::chrono::duration<double>(Clock::now() - begun_).count();
    const double left = share > 0 ? spent / share * (1 - share) : 0;
    const auto number = [](double value) { return std::to_string(static_cast<long>(std::ceil(std::max(value, 0.0)))); };
    std::string line = what_ + (terminal_ ? "  " : ": ") + number(std::floor(share * 100)) + " %" +
                       (detail.empty() ? "" : ", " + std::string(detail));
    if (share > 0) line += ", " + number(left) + " s left";
    write(line);
}

}  // namespace tools
