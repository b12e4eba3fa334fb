#pragma once
#include <string>
#include <vector>

namespace sim {

struct DelayShape;

/// What is to be known about delays that were taken from a capture, in clauses that go on after "the delays": that they
/// hold what the device takes, or that more was taken off than that. None of other delays.
std::vector<std::string> about_captured(const DelayShape& delay);

}  // namespace sim
