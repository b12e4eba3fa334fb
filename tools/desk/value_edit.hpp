#pragma once
// A typed value in the file's text, and what a refused one may have been meant to be.
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "proto/result.hpp"
#include "sim/reading/patch.hpp"
#include "tools/text/value.hpp"

namespace tools {

/// The file's text with that typed at that path, as rows_told names it; empty: nothing is typed there any more. The
/// text need not be one that can be read as a scenario.
proto::Result<std::string, sim::FileError> text_with(const sim::WrittenFile& file, const std::string& path,
                                                     const std::string& typed);

/// What is typed at that path by what a page was told of the links; empty: nothing is. Nothing: no field has that path.
std::optional<std::string> typed_at(const Value& links, std::string_view path);
/// The same value: blanks around it and quotes are no difference.
bool is_same_typed(std::string_view a, std::string_view b);

/// What may have been meant by a refused value, likeliest first: the bound or word that the refusal names, the unit or
/// base that is missing. Whoever offers one tries it first. `before`: what stands there.
std::vector<std::string> perhaps_meant(std::string_view typed, std::string_view before, std::string_view refusal);

/// A refusal in the words of the file: which line, which key, and the mend.
std::string in_words(const sim::FileError& error);

}  // namespace tools
