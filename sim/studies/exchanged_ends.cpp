#include "sim/studies/exchanged_ends.hpp"

#include <algorithm>
#include <string>

#include "sim/scenario/scenario.hpp"
#include "sim/scenario/units.hpp"
#include "sim/studies/cross_check.hpp"

namespace sim {
namespace {

std::string name_of_role(End end) { return end == End::controller ? "controller" : "device"; }

/// What an end shows whose partner has its own role: two that ask, or two that wait.
const char* shown_by(End both_are) {
    return both_are == End::controller
               ? "Start-up: no answer to the offer of parameters; what arrives is rejected by address"
               : "Start-up: no offer of parameters since power on; nothing sent, nothing received";
}

Difference* difference_in(CrossCheck& result, const std::string& setting) {
    const auto found = std::find_if(result.differences.begin(), result.differences.end(),
                                    [&](const Difference& one) { return one.setting == setting; });
    return found == result.differences.end() ? nullptr : &*found;
}

}  // namespace

void compare_roles(const Scenario& s, CrossCheck& result) {
    for (const TypedEnd* end : {&s.controller, &s.device}) {
        if (!end->role) continue;
        const End place = end->link.end;
        const std::string setting = "role of " + end->name;
        const std::string right = name_of_role(place), typed = name_of_role(*end->role);
        // the other end takes it for what its place makes it
        const std::string& at_controller = place == End::controller ? typed : right;
        const std::string& at_device = place == End::device ? typed : right;
        const char* const shown = shown_by(proto::other(place));
        ++result.compared;
        result.settings.push_back({setting, at_controller, at_device, shown, shown});
        if (end->plays_the_other())
            result.differences.push_back({.setting = setting,
                                          .controller = at_controller,
                                          .device = at_device,
                                          .seen_at_controller = shown,
                                          .seen_at_device = shown,
                                          .mend = end->name + ": " + right});
    }
}

bool addresses_exchanged(const Scenario& s) {
    const proto::LinkSettings& c = s.controller.link;
    const proto::LinkSettings& d = s.device.link;
    return c.own_address == d.own_address && c.peer_address == d.peer_address && c.own_address != c.peer_address;
}

void mend_taken_addresses(const Scenario& s, CrossCheck& result) {
    const proto::LinkSettings& c = s.controller.link;
    const proto::LinkSettings& d = s.device.link;
    if (c.own_address != d.own_address) return;
    const std::string of_controller = "address of " + s.controller.name, of_device = "address of " + s.device.name;
    const auto at = [](std::uint32_t address) { return written_hex(address, 4); };
    if (addresses_exchanged(s)) {
        Difference* const first = difference_in(result, of_controller);
        if (first == nullptr) return;
        first->setting = "own and other address";
        first->controller = at(c.own_address) + " and " + at(c.peer_address);
        first->device = at(d.own_address) + " and " + at(d.peer_address);
        first->mend = "the end that has them the wrong way round: see the design which end is " + at(c.own_address) +
                      ", and exchange the two at the other one; at " + s.device.name + ", for example: address " +
                      at(d.peer_address) + ", peer_address " + at(d.own_address);
        std::erase_if(result.differences, [&](const Difference& one) { return one.setting == of_device; });
        return;
    }
    // what the other end has for it says what was meant
    if (Difference* const typed = difference_in(result, of_controller))
        typed->mend = s.controller.name + ": " + at(d.peer_address) + ", as at " + s.device.name + "; " +
                      at(c.own_address) + " is the address of " + s.device.name;
    if (Difference* const typed = difference_in(result, of_device))
        typed->mend = s.device.name + ": " + at(c.peer_address) + ", as at " + s.controller.name + "; " +
                      at(d.own_address) + " is the address of " + s.controller.name;
}

}  // namespace sim
