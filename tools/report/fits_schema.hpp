#pragma once
// Whether a document that was read back is one that linkdrill could have written: by the JSON Schemas of tools/schema,
// of which only the keywords are known that those use.
#include <optional>
#include <string>

#include "tools/text/value.hpp"

namespace tools {

struct Misfit {
    std::string key;  ///< "demands[3].at_ms"; empty: the document itself
    std::string why;  ///< "is \"x\", not of type number"
};

/// The first place where the document does not fit; nothing if it fits. Requires a schema without other keywords.
std::optional<Misfit> misfit(const Value& document, const Value& schema);

}  // namespace tools
