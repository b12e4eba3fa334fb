#pragma once
// What a file says of both ends at once, apart from what was typed at one of them: what was meant.
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "sim/scenario/ends.hpp"
#include "sim/scenario/typed_address.hpp"
#include "sim/scenario/values.hpp"

namespace sim {

/// Of a link: what [link], [bits] and the places at a [[value]] say, or, where two lists of settings are compared, the
/// file that they are compared with. Nothing where it says nothing: a default that nobody typed is not meant.
struct Meant {
    std::optional<std::string> profile;  ///< its name, as typed
    std::optional<proto::Exchange> exchange;
    std::optional<unsigned> payload_to_device, payload_to_controller;  ///< bytes
    std::optional<proto::ByteOrder> byte_order;
    std::optional<Duration> cycle, controller_watchdog, device_watchdog;
    std::optional<unsigned> missing_allowed, claimed_level;
    std::optional<TypedAddress> controller_address, device_address;  ///< of a file that lists are compared with only
    std::vector<TypedBit> bits;                                      ///< those that it has
    std::vector<TypedValue> values;                                  ///< one for each value, or none at all
    std::string file = {};  ///< the one that lists are compared with; empty: the tables of this one
};

}  // namespace sim
