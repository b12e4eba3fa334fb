#pragma once
// One check of each file that was asked for: alone, several in one go, or as a document for a pipeline.
#include <string>

#include "proto/result.hpp"
#include "tools/program/command.hpp"

namespace tools {

using CheckOne = proto::Result<Finished, Failure> (*)(const std::string& file, const Request& request);

/// The files of the request, each by `check_one`, with all that keeps one from being read. The status is the worst.
proto::Result<Finished, Failure> check_files(const Request& request, CheckOne check_one);

}  // namespace tools
