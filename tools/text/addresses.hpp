#pragma once
// Addresses of ends in documents.
#include <string>
#include <vector>

#include "sim/scenario/typed_address.hpp"
#include "tools/text/value.hpp"

namespace tools {

/// {"value": 23, "typed": "0x17"}.
Value describe(const sim::TypedAddress& address);
Value::List describe(const std::vector<sim::TypedAddress>& addresses);

/// What describe() made of addresses, as people read them, several with "and" between them; `otherwise` where there is
/// none.
std::string addresses_in_words(const Value& described, const std::string& otherwise);

/// By 16 alone, several with "and" between them, as keys have it that are older than the base in which one was typed;
/// `otherwise` where there is no address.
std::string in_hex_alone(const std::vector<sim::TypedAddress>& addresses, const std::string& otherwise);

}  // namespace tools
