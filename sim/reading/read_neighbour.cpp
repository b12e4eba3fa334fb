#include <array>
#include <optional>
#include <utility>

#include "proto/telegram.hpp"
#include "sim/reading/addresses.hpp"
#include "sim/reading/parts.hpp"

namespace sim {
namespace {

using proto::LinkSettings;

proto::Codec codec_of(const LinkSettings& s, const proto::CrcEngine& crc, End sender, std::uint32_t controller,
                      std::uint32_t device) {
    const bool from_controller = sender == End::controller;
    return {s.profile,     &crc, sender, from_controller ? controller : device, from_controller ? device : controller,
            s.payload_sent};
}

/// Implied addresses of two links under which their telegrams cannot be told apart.
void check_aliases(const Scenario& scenario, const Neighbour& neighbour, Section& section) {
    for (const TypedEnd* end : {&scenario.controller, &scenario.device}) {
        const LinkSettings& s = end->link;
        if (s.profile.address.presence != proto::Presence::implied || !s.profile.crc) continue;
        const auto crc = proto::CrcEngine::make(*s.profile.crc);
        if (!crc) continue;
        const bool at_controller = s.end == End::controller;
        const std::uint32_t controller = at_controller ? s.own_address : s.peer_address;
        const std::uint32_t device = at_controller ? s.peer_address : s.own_address;
        for (const End sender : {End::controller, End::device}) {
            for (const End other_sender : {End::controller, End::device}) {
                const auto mine = codec_of(s, crc.value(), sender, controller, device);
                const auto theirs =
                    codec_of(s, crc.value(), other_sender, neighbour.controller_address, neighbour.device_address);
                if (mine.implied_register() != theirs.implied_register()) continue;
                section.say("controller_address",
                            "these addresses and those of the link under rehearsal give the same CRC in " +
                                in_quotes(end->profile_file) +
                                ", so that no receiver can tell the links apart; write other addresses, or a profile "
                                "that carries them");
                return;
            }
        }
    }
}

}  // namespace

void read_neighbour(Section& top, Scenario& scenario) {
    std::optional<Section> section = top.table("neighbour");
    if (!section) return;
    Neighbour neighbour;
    neighbour.where = section->place();
    neighbour.name = section->text("name").value_or(neighbour.name);
    for (const char* key : {"controller_address", "device_address"}) {
        if (!section->has(key)) section->missing(key, "\"0x0030\"");
    }
    const TypedAddress of_controller = read_address(*section, "controller_address", {2});
    const TypedAddress of_device = read_address(*section, "device_address", {3});
    neighbour.controller_address = of_controller.value;
    neighbour.controller_digits = of_controller.hex_digits;
    neighbour.device_address = of_device.value;
    neighbour.device_digits = of_device.hex_digits;
    section->finish();
    if (section->wrong() || top.in_doubt({"link"})) return;

    const proto::Profile& profile = scenario.controller.link.profile;
    const std::uint64_t largest = (std::uint64_t{1} << profile.address.bits) - 1;
    const std::array<std::pair<const char*, TypedAddress>, 2> typed{
        {{"controller_address", of_controller}, {"device_address", of_device}}};
    for (const auto& [key, address] : typed) {
        if (profile.address.presence != proto::Presence::absent && address.value > largest) {
            section->say(key, too_wide(address, scenario.controller, largest));
        }
        for (const TypedEnd* end : {&scenario.controller, &scenario.device}) {
            const TypedEnd& other = end == &scenario.controller ? scenario.device : scenario.controller;
            // typed so at that end alone it is a mistake to be rehearsed: the other one looks for another address
            if (address.value != end->link.own_address || address.value != other.link.peer_address) continue;
            section->say(key, in_both_bases(address) + " is the address of " + end->name +
                                  ": two links with one address; write another");
        }
    }
    if (neighbour.controller_address == neighbour.device_address) {
        section->say("device_address", "both ends of the neighbour have the address " + in_both_bases(of_device) +
                                           "; write two different ones");
    }
    if (!section->wrong()) check_aliases(scenario, neighbour, *section);
    scenario.neighbour = neighbour;
}

}  // namespace sim
