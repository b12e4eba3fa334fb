#pragma once
// Lines around what stands in a text, and the lines of a table.
#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

#include "sim/reading/written_parts.hpp"

namespace sim {

/// Where the line of `at` begins; in the first one behind a byte order mark.
std::size_t line_begin(std::string_view text, std::size_t at);
/// Where the next line begins; the text's end if there is none.
std::size_t line_end(std::string_view text, std::size_t at);
/// The line that begins at `at`: empty or of blanks; of a comment alone; of a header. At the text's end none of these.
bool is_blank_line(std::string_view text, std::size_t at);
bool is_comment_line(std::string_view text, std::size_t at);
bool is_header_line(std::string_view text, std::size_t at);
/// The blanks before the first letter of the line of `at`.
std::string_view indent_of(std::string_view text, std::size_t at);
/// How lines end: as the first one does.
std::string_view line_break(std::string_view text);

/// The lines of `part` that stand below that header, in the order of the text.
std::vector<std::size_t> lines_of(const WrittenParts& parts, std::size_t part, std::size_t header);
/// The tables with a header in `part` and below, itself too, in the order of the text.
std::vector<std::size_t> headers_in(const WrittenParts& parts, std::size_t part);

/// Where the lines below a header end, with the comment lines that touch the last; the file's own are those above
/// the first header.
std::size_t end_of_body(std::string_view text, const WrittenParts& parts, std::size_t header);
/// A header with the comment lines that touch it, and all lines below it. What is touched from both sides belongs to
/// the header below; what begins the file to the file.
Stretch block_of(std::string_view text, const WrittenParts& parts, std::size_t header);

}  // namespace sim
