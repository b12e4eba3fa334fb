#pragma once
// What cannot be detected by design: known from a profile or from settings, before anything runs. The study of the
// measures must find nothing else getting through.
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "proto/link_settings.hpp"
#include "sim/scenario/errors.hpp"

namespace sim {

struct Undetectable {
    ErrorKind error = ErrorKind::corruption;  ///< none: it happens at an end, not on the way
    std::string words;                        ///< a clause without capital and full stop
};

/// Errors that a telegram profile cannot see whatever the settings.
std::vector<Undetectable> undetectable_by(const proto::Profile& profile);

/// What a stream of that profile cannot see unless something measures ages; empty if the profile can.
std::vector<Undetectable> undetectable_in_a_stream(const proto::Profile& profile);

/// What a link with these settings cannot see, its profile's included; also of settings that exist only to look at
/// measures. `other_traffic_crc` as in StudyLink.
std::vector<Undetectable> undetectable_with(const proto::LinkSettings& settings,
                                            const std::optional<proto::CrcSpec>& other_traffic_crc = std::nullopt);

/// Whether a good telegram of that profile can be nothing but zeros, which every end rejects: a link of it then
/// stops for nothing. Requires a profile that fits, see proto::layout_of(); the addresses count where they are implied.
bool may_be_all_zero(const proto::Profile& profile, std::uint32_t controller_address = 1,
                     std::uint32_t device_address = 2);

/// What no measure of any link sees.
std::vector<Undetectable> undetectable_by_any();

}  // namespace sim
