#pragma once
// Which signals a safeguard's demand brings down on its way to the output.
#include <cstddef>
#include <cstdint>
#include <string>
#include <vector>

namespace sim {

struct Scenario;

/// The longest way of a safeguard's demand to the output, as signal numbers; empty if there is none. No way is longer
/// than the number of signals, since none depends on itself. A signal that falls later than it is computed is no end of
/// a way where another one is.
std::vector<std::size_t> longest_way(const Scenario& scenario, const std::string& safeguard);

/// Signals by which that demand stops the machine, one bit each: those that only complete what others began are left
/// out.
std::uint64_t stopping_signals(const Scenario& scenario, const std::string& safeguard);

}  // namespace sim
