#pragma once
// The two ends as typed, the ways between them, and where in a file a thing was written.
#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "proto/link_settings.hpp"
#include "proto/time.hpp"
#include "sim/scenario/typed_address.hpp"

namespace sim {

using proto::Duration;
using proto::End;

/// The way of a telegram.
enum class Direction : std::uint8_t { to_device, to_controller };
constexpr End receiver(Direction d) { return d == Direction::to_device ? End::device : End::controller; }
constexpr End sender(Direction d) { return d == Direction::to_device ? End::controller : End::device; }

/// Where in its file a thing was written, for messages: line 1.. and dotted key.
struct Place {
    int line = 0;
    std::string key;
};

/// One bit of a payload: byte 0.., bit 0 (lowest) .. 7.
struct BitPlace {
    unsigned byte = 0;
    unsigned bit = 0;
    friend bool operator==(const BitPlace&, const BitPlace&) = default;
};

/// A signal on a bit, as typed at one end.
struct TypedBit {
    std::string signal;
    BitPlace place;
    Place where;
};

struct AroundEnd;

/// Everything typed at one end. `link.end` is its place in the plant.
struct TypedEnd {
    std::string name;              ///< by its place in the plant: "press controller", "press I/O"
    std::string profile_file;      ///< as typed
    proto::LinkSettings link;      ///< bits_sent / bits_received follow from the bit map below
    std::vector<TypedBit> bits;    ///< bit map, both directions; the direction comes from the signal
    std::optional<End> role = {};  ///< what it was told to be, if somebody typed that; else what its place makes it
    /// Network, module and firmware (sim/scenario/network.hpp); nullptr: nothing of these was typed. Shared, since
    /// scenarios are copied for each trial and few have any.
    std::shared_ptr<const AroundEnd> around = {};
    unsigned own_digits = usual_address_digits, peer_digits = usual_address_digits;  ///< see TypedAddress
    [[nodiscard]] bool plays_the_other() const { return role && *role != link.end; }
    [[nodiscard]] TypedAddress own_address() const { return {link.own_address, own_digits}; }
    [[nodiscard]] TypedAddress peer_address() const { return {link.peer_address, peer_digits}; }
};

/// What an end runs by: in the role that was typed there. One that was told to be the controller scans in the cycle.
inline proto::LinkSettings as_played(const TypedEnd& typed) {
    proto::LinkSettings link = typed.link;
    link.end = typed.role.value_or(link.end);
    if (typed.plays_the_other() && link.end == End::controller) link.scan = link.cycle;
    return link;
}

/// The neighbour link: same exchange and settings as the controller of this link was given, other addresses.
struct Neighbour {
    std::string name = "neighbour link";
    std::uint32_t controller_address = 0;
    std::uint32_t device_address = 0;
    Place where;
    unsigned controller_digits = usual_address_digits, device_digits = usual_address_digits;  ///< see TypedAddress
    [[nodiscard]] TypedAddress address_of(End end) const {
        return end == End::controller ? TypedAddress{controller_address, controller_digits}
                                      : TypedAddress{device_address, device_digits};
    }
};

}  // namespace sim
