#include <algorithm>
#include <filesystem>
#include <fstream>
#include <optional>
#include <string_view>

#include "sim/reading/section.hpp"
#include "sim/reading/stopping_times.hpp"
#include "sim/scenario/units.hpp"

namespace sim {
namespace {

namespace fs = std::filesystem;
constexpr std::string_view column_name = "stopping_ms";
constexpr Duration longest = proto::seconds(3600);

std::string_view trimmed(std::string_view text) {
    const auto blank = [](char c) { return c == ' ' || c == '\t' || c == '\r'; };
    while (!text.empty() && blank(text.front())) text.remove_prefix(1);
    while (!text.empty() && blank(text.back())) text.remove_suffix(1);
    return text;
}

/// The field of that number (0..) in a line, or nothing if the line is shorter.
std::optional<std::string_view> field(std::string_view line, std::size_t number) {
    for (; number > 0; --number) {
        const std::size_t comma = line.find(',');
        if (comma == std::string_view::npos) return std::nullopt;
        line.remove_prefix(comma + 1);
    }
    return trimmed(line.substr(0, line.find(',')));
}

/// Milliseconds in decimal digits; what is finer than a nanosecond is rounded away from zero, to the safe side.
std::optional<Duration> milliseconds_in(std::string_view text) {
    const bool signed_number = text.starts_with('-');
    const std::size_t point = text.find('.');
    constexpr std::size_t ns_digits = 6;
    std::int64_t more = 0;
    if (point != std::string_view::npos && text.size() > point + 1 + ns_digits) {
        const std::string_view finer = text.substr(point + 1 + ns_digits);
        if (finer.find_first_not_of("0123456789") != std::string_view::npos) return std::nullopt;
        if (finer.find_first_not_of('0') != std::string_view::npos) more = 1;
        text = text.substr(0, point + 1 + ns_digits);
    }
    const auto read = parse_quantity(std::string(text) + " ms", duration_units());
    if (!read) return std::nullopt;
    return Duration{signed_number ? read.value() - more : read.value() + more};
}

/// What is wrong with what a row says, or "".
std::string refusal_of(const std::optional<Duration>& time) {
    if (!time) return " is no time in milliseconds; write decimal digits such as 118.4";
    if (time->ns <= 0) return " is no stopping time; write more than 0";
    if (*time > longest) return " ms is too long; write at most an hour";
    return "";
}

}  // namespace

proto::Result<std::vector<Duration>, FileError> read_stopping_times(const std::string& path) {
    const auto wrong = [&](int line, std::string message) {
        return FileError{
            .file = path, .line = line, .key = line > 0 ? std::string(column_name) : "", .message = std::move(message)};
    };
    std::error_code error;
    if (!fs::is_regular_file(path, error))
        return wrong(0, "is no file; write the path of a CSV file, from the scenario's folder");
    if (fs::file_size(path, error) > file_bytes_max || error)
        return wrong(0, "has over " + std::to_string(file_bytes_max) + " bytes; write a shorter file");
    std::ifstream in(path, std::ios::binary);
    if (!in) {
        FileError unreadable = wrong(0, "cannot be opened; check the rights of the file");
        unreadable.kind = FileError::Kind::machine;
        return unreadable;
    }
    std::string line;
    std::getline(in, line);
    std::optional<std::size_t> column;
    for (std::size_t i = 0; const auto name = field(line, i); ++i) {
        if (*name != column_name) continue;
        if (column) return wrong(1, "is named twice in the first line; leave one of them");
        column = i;
    }
    if (!column) return wrong(1, "is no column of the first line; write it there");
    std::vector<Duration> times;
    for (int number = 2; std::getline(in, line); ++number) {
        if (trimmed(line).empty()) continue;
        const std::string_view text = field(line, *column).value_or("");
        const std::optional<Duration> time = milliseconds_in(text);
        if (const std::string why = refusal_of(time); !why.empty()) return wrong(number, in_quotes(text) + why);
        if (times.size() == stops_most)
            return wrong(number, "is one row too many; write at most " + std::to_string(stops_most));
        times.push_back(*time);
    }
    if (times.size() < stops_least) {
        return wrong(0, "holds " + std::to_string(times.size()) +
                            (times.size() == 1 ? " stopping time" : " stopping times") + "; ISO 13855 asks for " +
                            std::to_string(stops_least) + ", so measure " + std::to_string(stops_least - times.size()) +
                            " more");
    }
    return times;
}

}  // namespace sim
