#pragma once
// Where the parser saw each value of a text.
#include <string>
#include <vector>

#include "proto/result.hpp"
#include "sim/reading/document.hpp"

namespace sim {

/// Of a value that is no list and no table with a header. Columns count code points from 1, without a byte order mark.
struct ValuePlace {
    int line = 0, column = 0;
    int end_line = 0, end_column = 0;  ///< behind it
};

struct PlacedDocument {
    Node root;
    std::vector<ValuePlace> places;  ///< in the order of the text
};

/// As document_from(), with the places of values.
proto::Result<PlacedDocument, FileError> placed_document_from(const std::string& text, const std::string& path);

}  // namespace sim
