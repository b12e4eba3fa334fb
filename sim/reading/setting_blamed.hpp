#pragma once
#include <string>

#include "proto/link_settings.hpp"
#include "sim/scenario/scenario.hpp"

namespace sim {

/// What is said to a person about settings of an end that do not fit.
struct SettingBlamed {
    std::string key;  ///< as it is typed in the scenario
    std::string message;
};
SettingBlamed setting_blamed(const TypedEnd& end, const proto::SettingsError& error);

}  // namespace sim
