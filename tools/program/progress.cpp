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

/// "40 s", "12 min", "3 h", "5 days", "4 years": in the unit that leaves few digits, rounded up.
std::string in_round_units(double seconds) {
    struct Unit {
        double seconds, from;
        const char* name;
    };
    constexpr double minute = 60.0, hour = 3600.0, day = 86'400.0, year = 365.25 * day;
    constexpr Unit units[] = {
        {year, 2 * year, " years"}, {day, 2 * day, " days"}, {hour, 2 * hour, " h"}, {minute, 2 * minute, " min"}};
    for (const Unit& unit : units)
        if (seconds >= unit.from)
            return std::to_string(static_cast<long long>(std::ceil(seconds / unit.seconds))) + unit.name;
    return std::to_string(static_cast<long long>(std::ceil(std::max(seconds, 0.0)))) + " s";
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
    if (share > 0) line += ", " + in_round_units(left) + " left";
    write(line);
}

}  // namespace tools
