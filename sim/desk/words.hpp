#pragma once
// What happens at a desk, in words for people.
#include <string>
#include <string_view>

#include "proto/endpoint.hpp"
#include "proto/verdict.hpp"
#include "sim/plant/machine.hpp"

namespace sim {

/// Why a telegram is rejected: "its check value or its layout is wrong".
std::string words_of(proto::Measure measure);
/// "accepted: a new value".
std::string words_of(const proto::Verdict& verdict);
/// "stopped: nothing valid and new came within the watchdog time".
std::string words_of(const proto::Transition& transition);
/// "stop, category 1".
std::string_view words_of(DriveCommand command);

}  // namespace sim
