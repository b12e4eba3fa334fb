#pragma once
// A fault of each way as it is put in at a desk, where nobody types how long or how many.
#include <optional>
#include <string>

#include "sim/scenario/faults.hpp"

namespace sim {

struct Scenario;

/// Which telegrams a fault put in by hand touches.
enum class FaultDirection : std::uint8_t { to_device, to_controller, both };

/// The way with magnitudes that suit the link: delays measured by its watchdog, bits by its telegrams. Without a begin.
/// `at_end`: of a fault of an end; without one the machine's for `drive_does_not_slow`, else the device.
Fault usual_fault(const Scenario& link, FaultWay way, FaultDirection direction, std::optional<End> at_end = {});

/// Why a file with that link could not have the fault; nothing: it can.
std::optional<std::string> why_impossible(const Scenario& link, const Fault& fault);

/// "3 random bits flipped, to press I/O": one line for people.
std::string words_of(const Scenario& link, const Fault& fault);

}  // namespace sim
