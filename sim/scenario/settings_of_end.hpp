#pragma once
// The settings of an end as a list has them, in the keys of a scenario file.
#include <string>
#include <vector>

#include "sim/scenario/ends.hpp"

namespace sim {

struct Scenario;

struct SettingOfEnd {
    std::string setting, value;
};

/// All that is typed at that end and must fit the other one, in the order in which it is typed; bits as "bits.NAME".
std::vector<SettingOfEnd> settings_of_end(const Scenario& scenario, End end);

}  // namespace sim
