#pragma once
// What is typed at an end besides the link itself: its place in the network, the module that its payload is of, and
// what its firmware and its safety program are called. All of it may be missing.
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "sim/scenario/ends.hpp"
#include "sim/scenario/values.hpp"

namespace sim {

/// An address of the Internet Protocol, version 4; its first number in the highest byte.
struct Ipv4 {
    std::uint32_t bits = 0;
    friend bool operator==(Ipv4, Ipv4) = default;
};
/// "192.0.2.10".
std::string written(Ipv4 address);
/// Four numbers of 0 to 255 in decimal with dots between. A leading 0 is refused: some read such a number as octal.
std::optional<Ipv4> ipv4_from(std::string_view text);

/// Which part of an address is its subnet's.
struct SubnetMask {
    std::uint32_t bits = 0;
    /// A 1 behind a 0: no prefix (RFC 4632, section 3.1), so that nobody can say what is in the subnet.
    [[nodiscard]] bool has_holes() const { return (~bits & (~bits + 1)) != 0; }
    /// 0 to 32; requires a mask without holes.
    [[nodiscard]] unsigned length() const;
    [[nodiscard]] bool joins(Ipv4 a, Ipv4 b) const { return ((a.bits ^ b.bits) & bits) == 0; }
    friend bool operator==(SubnetMask, SubnetMask) = default;
};
/// "255.255.255.0 (/24)".
std::string written(SubnetMask mask);
/// Dotted, or "/24".
std::optional<SubnetMask> mask_from(std::string_view text);

/// [controller.network], [device.network].
struct NetworkTyped {
    std::optional<Ipv4> ip = {};
    std::optional<SubnetMask> mask = {};
    std::optional<Ipv4> gateway = {};
    std::optional<std::string> station = {};
    std::optional<Ipv4> peer_ip = {};              ///< of the other end, as this one believes
    std::optional<std::string> peer_station = {};  ///< likewise
    [[nodiscard]] bool any() const { return ip || mask || gateway || station || peer_ip || peer_station; }
};

/// What a module says of one bit or one value of its payload.
struct ModuleField {
    std::string name;
    Direction direction = Direction::to_device;
    std::optional<ValueType> type = {};  ///< nothing: a bit
    BitPlace place = {};                 ///< of a value its first byte, bit 0
    friend bool operator==(const ModuleField&, const ModuleField&) = default;
};

/// A payload layout with a name, from its file.
struct ModuleLayout {
    std::string name;
    unsigned to_device = 0, to_controller = 0;  ///< bytes
    std::vector<ModuleField> fields = {};       ///< of a way that has none, nothing is known but its length
    [[nodiscard]] bool describes(Direction direction) const;
    friend bool operator==(const ModuleLayout&, const ModuleLayout&) = default;
};

/// What is fitted at an end, and what runs there.
struct FittedTyped {
    std::optional<std::string> module = {};
    std::optional<ModuleLayout> layout = {};  ///< of that module
    std::optional<unsigned> slot = {};
    std::optional<std::string> firmware = {}, checksum = {};  ///< its own; the checksum: of its safety program
    std::optional<std::string> peer_firmware = {}, peer_checksum = {};  ///< of the other end, as this one believes
    [[nodiscard]] bool any() const { return module || slot || firmware || checksum || peer_firmware || peer_checksum; }
};

struct AroundEnd {
    NetworkTyped network;
    FittedTyped fitted;
    /// Another station of the cell that has the same address or the same name; empty: none.
    std::string ip_also_at = {}, station_also_at = {};
};

/// What was typed there; nullptr: nothing.
inline const NetworkTyped* network_of(const TypedEnd& end) {
    return end.around && end.around->network.any() ? &end.around->network : nullptr;
}
inline const FittedTyped* fitted_of(const TypedEnd& end) {
    return end.around && end.around->fitted.any() ? &end.around->fitted : nullptr;
}

/// One line of what is typed at an end, in the keys of a scenario file: "network.ip", "module".
struct AroundSetting {
    std::string_view key;
    std::string_view words;                  ///< "IP address"
    std::string (*value)(const AroundEnd&);  ///< as typed; empty: not typed
};
/// All of them, in the order in which they are typed.
const std::vector<AroundSetting>& around_settings();
/// Whether it is the key of one of them.
bool is_around_setting(std::string_view key);

}  // namespace sim
