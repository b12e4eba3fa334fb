#pragma once
#include <string>

#include "tools/value.hpp"

namespace tools {

/// One JSON document (RFC 8259) with a line end, keys in the tree's order, indented by two. Bytes that are no UTF-8
/// become U+FFFD; infinite numbers become null. Milliseconds are exact up to 15 digits, that is eleven days to the ns.
std::string to_json(const Value& value);

}  // namespace tools
