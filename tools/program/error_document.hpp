#pragma once
// What could not be done, for programs.
#include <vector>

#include "tools/program/failure.hpp"
#include "tools/text/value.hpp"

namespace tools {

/// {"file", "line", "key", "message"}: null for what is not said.
inline Value error_of(const Failure& failure) {
    return Value::Object{{"file", Value::text_or_null(failure.file)},
                         {"line", failure.line > 0 ? Value(failure.line) : Value()},
                         {"key", Value::text_or_null(failure.key)},
                         {"message", failure.message}};
}

inline Value errors_of(const std::vector<Failure>& all) {
    Value::List errors;
    for (const Failure& one : all) errors.push_back(error_of(one));
    return errors;
}

}  // namespace tools
