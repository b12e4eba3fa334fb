#pragma once
// Parts of network_report(): what is wrong with the settings of one end by themselves.
#include <optional>
#include <string>
#include <vector>

#include "sim/scenario/network.hpp"
#include "sim/scenario/reach.hpp"

namespace sim {

inline constexpr const char* see_the_plan = "see the network plan";

/// The first and the last address of a subnet are no station's; a subnet of two or one has neither (RFC 3021).
std::optional<std::string> no_station_in_subnet(Ipv4 ip, SubnetMask mask);

/// That of 169.254.0.0/16, which no gateway passes on (RFC 3927, section 2.7).
bool is_link_local(Ipv4 address);

/// The gateway is within the end's own subnet, a station's address there and not the end's own; requires an ip and a
/// mask without holes.
bool gateway_fits(const NetworkTyped& typed);

/// The ip is one that a station can have, the mask is a prefix, the gateway lies in the own subnet, and so on.
void add_own_findings(const TypedEnd& end, const TypedEnd& other, std::vector<NetworkFinding>& findings);

}  // namespace sim
