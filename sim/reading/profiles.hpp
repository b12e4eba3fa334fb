#pragma once
// The telegram profiles that a scenario names, found near it or among the shipped ones.
#include <map>
#include <string>
#include <utility>

#include "proto/profile.hpp"
#include "sim/reading/section.hpp"

namespace sim {

/// Reads each profile file once.
class Profiles {
  public:
    explicit Profiles(std::string scenario_file) : scenario_file_(std::move(scenario_file)) {}

    /// The profile of that name: a file beside the scenario, or in a folder `profiles` up to two levels above it, or
    /// a shipped one. What is wrong is added to `problems`, and the profile is then an empty one.
    proto::Profile get(const std::string& name, const Place& where, Problems& problems);

  private:
    std::string scenario_file_;
    std::map<std::string, proto::Profile> known_;
};

}  // namespace sim
