#include "sim/reading/measured_times.hpp"

#include <algorithm>
#include <array>
#include <cctype>
#include <filesystem>
#include <fstream>
#include <optional>
#include <string_view>
#include <utility>

#include "sim/reading/csv_cells.hpp"
#include "sim/reading/section.hpp"
#include "sim/scenario/units.hpp"

namespace sim {
namespace {

namespace fs = std::filesystem;
using proto::Duration;

/// Milliseconds as decimal digits with a point or a comma, exactly; what is finer than a nanosecond is cut off.
std::optional<Duration> milliseconds_in(std::string text) {
    std::replace(text.begin(), text.end(), ',', '.');
    const std::size_t point = text.find('.');
    constexpr std::size_t ns_digits = 6;
    if (point != std::string::npos) {
        const auto is_digit = [](char c) { return c >= '0' && c <= '9'; };
        if (!std::all_of(text.begin() + static_cast<std::ptrdiff_t>(point) + 1, text.end(), is_digit))
            return std::nullopt;
        text.resize(std::min(text.size(), point + 1 + ns_digits));
    }
    const auto read = parse_quantity(text + " ms", duration_units());
    if (!read || read.value() < 0) return std::nullopt;
    return Duration{read.value()};
}

bool stands_for_no_answer(std::string text) {
    std::transform(text.begin(), text.end(), text.begin(),
                   [](char c) { return static_cast<char>(std::tolower(static_cast<unsigned char>(c))); });
    constexpr std::array<std::string_view, 6> words{"", "-", "*", "timeout", "lost", "nan"};
    return std::find(words.begin(), words.end(), text) != words.end();
}

class Reader {
  public:
    Reader(std::string path, NoAnswer no_answer, Duration longest)
        : path_(std::move(path)), no_answer_(no_answer), longest_(longest) {}

    std::optional<FileError> read(MeasuredTimes& into) {
        std::error_code error;
        if (!fs::is_regular_file(path_, error))
            return wrong(0, "is no file; write the path of a CSV file, from the scenario's folder");
        constexpr std::uintmax_t bytes_max = 50'000'000;
        if (fs::file_size(path_, error) > bytes_max || error)
            return wrong(0, "has over " + std::to_string(bytes_max) + " bytes; write a shorter file");
        std::ifstream in(path_, std::ios::binary);
        if (!in) {
            FileError unreadable = *wrong(0, "cannot be opened; check the rights of the file");
            unreadable.kind = FileError::Kind::machine;
            return unreadable;
        }
        std::string line;
        if (!std::getline(in, line))
            return wrong(1, "is empty; name a column one_way_ms or round_trip_ms in its first line");
        if (auto header = take_header(line, into)) return header;
        for (int number = 2; std::getline(in, line); ++number)
            if (auto row = take_row(line, number, into)) return row;
        return what_is_missing(into);
    }

  private:
    [[nodiscard]] std::optional<FileError> wrong(int line, std::string message) const {
        return FileError{.file = path_, .line = line, .key = "", .message = std::move(message)};
    }

    std::optional<FileError> take_header(std::string_view line, MeasuredTimes& into) {
        if (line.starts_with("\xFF\xFE") || line.starts_with("\xFE\xFF"))
            return wrong(1, "is UTF-16; save it as CSV in UTF-8");
        if (line.starts_with("\xEF\xBB\xBF")) line.remove_prefix(3);
        separator_ = separator_in(line);
        const auto names = cells_of(line, separator_);
        if (!names) return wrong(1, "has a quote that is never closed; close it");
        columns_ = names->size();
        std::size_t found = 0;
        std::string all;
        for (std::size_t i = 0; i < names->size(); ++i) {
            const std::string& name = (*names)[i];
            all += (all.empty() ? "" : ", ") + in_quotes(name);
            if (name != "one_way_ms" && name != "round_trip_ms") continue;
            ++found;
            column_ = i;
            into.round_trips = name == "round_trip_ms";
        }
        constexpr std::size_t shown = 200;
        if (all.size() > shown) all = all.substr(0, shown) + "...";
        if (found == 0)
            return wrong(1, "names no column one_way_ms or round_trip_ms, but " + all +
                                "; call the one with the times so in the first line, in milliseconds");
        if (found > 1) return wrong(1, "names more than one column of delays; leave one of them");
        return std::nullopt;
    }

    std::optional<FileError> take_row(const std::string& line, int number, MeasuredTimes& into) {
        if (without_blanks(line).empty() && columns_ > 1) return std::nullopt;
        if (without_blanks(line).empty() && no_answer_ == NoAnswer::refused) return std::nullopt;
        const auto fields = cells_of(line, separator_);
        if (!fields) return wrong(number, "has a quote that is never closed; close it");
        if (fields->size() != columns_)
            return wrong(number, "has " + std::to_string(fields->size()) + " fields, and the first line has " +
                                     std::to_string(columns_) +
                                     "; with a decimal comma write ; between the columns, or quotes around the number");
        const std::string& text = (*fields)[column_];
        if (stands_for_no_answer(text)) {
            if (into.unanswered++ == 0) first_unanswered_ = number;
            into.unanswered_in_a_row = std::max(into.unanswered_in_a_row, ++in_a_row_);
            const std::uint64_t row = into.times.size() + into.unanswered;
            if (last_unanswered_ != 0 && row - last_unanswered_ <= MeasuredTimes::close) ++into.unanswered_close;
            last_unanswered_ = row;
            return std::nullopt;
        }
        const std::optional<Duration> time = milliseconds_in(text);
        if (!time)
            return wrong(number, in_quotes(text) + " is no time in milliseconds; write decimal digits such as 0.43");
        if (*time > longest_)
            return wrong(number, in_quotes(text) + " ms is too long; write at most " + written(longest_));
        in_a_row_ = 0;
        into.times.push_back(*time);
        return std::nullopt;
    }

    [[nodiscard]] std::optional<FileError> what_is_missing(const MeasuredTimes& into) const {
        if (into.unanswered != 0 && no_answer_ == NoAnswer::refused)
            return wrong(first_unanswered_,
                         "has no time, as " + std::to_string(into.unanswered) +
                             (into.unanswered == 1 ? " row" : " rows") +
                             " of the file; write no_answer = \"losses\" beside file if these are telegrams that were "
                             "lost, or take the rows out");
        if (into.times.empty()) return wrong(0, "holds no delays; write one in each line under the header");
        if (into.times.size() == 1)
            return wrong(0, "holds one delay, which is no distribution; write one in each line, thousands of them");
        return std::nullopt;
    }

    std::string path_;
    NoAnswer no_answer_;
    Duration longest_;
    char separator_ = '\0';
    std::size_t columns_ = 1, column_ = 0;
    int first_unanswered_ = 0;
    std::uint64_t in_a_row_ = 0;         ///< without an answer, up to here
    std::uint64_t last_unanswered_ = 0;  ///< row of the times, counted from 1; 0: none yet
};

}  // namespace

proto::Result<MeasuredTimes, FileError> read_measured_times(const std::string& path, NoAnswer no_answer,
                                                            Duration longest) {
    MeasuredTimes found;
    if (auto error = Reader(path, no_answer, longest).read(found)) return std::move(*error);
    return found;
}

}  // namespace sim
