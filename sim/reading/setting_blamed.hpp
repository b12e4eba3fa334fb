#pragma once
#include <array>
#include <optional>
#include <string>

#include "proto/link_settings.hpp"
#include "sim/scenario/scenario.hpp"

namespace sim {

/// What is said to a person about settings of an end that do not fit.
struct SettingBlamed {
    std::string key;  ///< as it is typed in the scenario
    std::string message;
};
/// `meant`: of both watchdogs, the controller's first, what the link itself says; the mend where that would do.
SettingBlamed setting_blamed(const TypedEnd& end, const proto::SettingsError& error,
                             const std::array<std::optional<Duration>, 2>& meant = {});

}  // namespace sim
