#pragma once
#include <string>
#include <vector>

#include "proto/result.hpp"
#include "tools/program/failure.hpp"

namespace tools {

/// Copies the folders and regular files below `from` to `to`, which is not there or an empty folder; hidden ones are
/// left out. Copies can be written whatever the originals are like. They are made under another name beside `to` and
/// take its place together when all are on the disk. The files' paths below `to`, sorted.
proto::Result<std::vector<std::string>, Failure> copy_tree(const std::string& from, const std::string& to);

}  // namespace tools
