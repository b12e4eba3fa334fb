#pragma once
#include "sim/reading/read.hpp"
#include "tools/program/failure.hpp"

namespace tools {

/// What is wrong with a scenario or profile file, with the status that goes with it.
inline Failure failure_of(const sim::FileError& error) {
    const Status status = error.kind == sim::FileError::Kind::machine ? Status::machine : Status::bad_input;
    return {status, error.file, error.line, error.key, error.message};
}

}  // namespace tools
