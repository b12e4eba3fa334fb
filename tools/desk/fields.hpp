#pragma once
#include <map>
#include <string>

namespace tools {

/// What a page sends with a request, by name.
using Fields = std::map<std::string, std::string>;

/// One of them; empty where it is not sent.
inline std::string field(const Fields& fields, const std::string& name) {
    const auto found = fields.find(name);
    return found == fields.end() ? std::string() : found->second;
}

}  // namespace tools
