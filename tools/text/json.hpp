#pragma once
#include <string>
#include <string_view>

#include "proto/result.hpp"
#include "tools/text/value.hpp"

namespace tools {

/// One JSON document (RFC 8259) with a line end, keys in the tree's order, indented by two. Bytes that are no UTF-8
/// become U+FFFD; infinite numbers become null. Milliseconds are exact up to 15 digits, that is eleven days to the ns.
std::string to_json(const Value& value);

/// The same on one line and without blanks, in ASCII, with `<` and `&` written as \u003c and \u0026: safe inside an
/// element of HTML, and the shortest for a stream.
std::string to_embedded_json(const Value& value);

/// Reads one JSON document: whole numbers become integers, others doubles. Or says in one sentence what is wrong.
proto::Result<Value, std::string> from_json(std::string_view text);

}  // namespace tools
