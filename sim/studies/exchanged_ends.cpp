#include "sim/studies/exchanged_ends.hpp"

#include <algorithm>
#include <optional>
#include <string>
#include <utility>

#include "sim/scenario/scenario.hpp"
#include "sim/studies/cross_check.hpp"
#include "sim/studies/mend.hpp"

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
        TypedValues both;
        both.controller = at_controller;
        both.device = at_device;
        ComparedSetting compared{both};
        compared.setting = setting;
        compared.seen_at_controller = compared.seen_at_device = shown;
        compared.meant = right;
        result.settings.push_back(std::move(compared));
        if (!end->plays_the_other()) continue;
        Difference differs{std::move(both)};
        differs.setting = setting;
        differs.seen_at_controller = differs.seen_at_device = shown;
        differs.mend = end->name + ": " + right;
        differs.mend_at = place == End::controller ? MendAt::controller : MendAt::device;
        result.differences.push_back(std::move(differs));
    }
}

bool addresses_exchanged(const Scenario& s) {
    const proto::LinkSettings& c = s.controller.link;
    const proto::LinkSettings& d = s.device.link;
    return c.own_address == d.own_address && c.peer_address == d.peer_address && c.own_address != c.peer_address;
}

namespace {

/// The one who has the other's address for its own, which the other rightly has: what the other has for it was meant.
void mend_taken(Difference* typed, const TypedEnd& wrong, const TypedEnd& other, const std::string& whose, MendAt at) {
    if (typed == nullptr) return;
    typed->mend = wrong.name + ": " + in_both_bases(other.peer_address()) + ", as " + other.name + " has it for it; " +
                  in_both_bases(wrong.own_address()) + " is the address of " + whose;
    typed->mend_at = at;
}

/// The two addresses that are exchanged, as one difference; which end was meant, only the file of two lists may say.
void tell_exchanged(const Scenario& s, Difference& both) {
    const TypedEnd &c = s.controller, &d = s.device;
    const auto pair = [](const TypedEnd& end) {
        return in_both_bases(end.own_address()) + " and " + in_both_bases(end.peer_address());
    };
    both.setting = "own and other address";
    both.controller = pair(c);
    both.device = pair(d);
    both.controller_addresses = {c.own_address(), c.peer_address()};
    both.device_addresses = {d.own_address(), d.peer_address()};
    both.note.clear();
    const std::optional<TypedAddress>& meant = s.meant.controller_address;
    if (meant && (meant->value == c.link.own_address || meant->value == d.link.peer_address)) {
        const bool device_wrong = meant->value == c.link.own_address;
        mend_exchanged_at(device_wrong ? d : c, both);
        both.mend += ", as " + who_says(s, "link") + " has it";
        return;
    }
    both.mend_at = MendAt::design;
    both.mend = "the end that has them the wrong way round: see the design which end is " +
                in_both_bases(c.own_address()) + ", and exchange the two at the other one; at " + d.name +
                ", for example: address " + as_typed(d.peer_address()) + ", peer_address " + as_typed(d.own_address());
}

}  // namespace

void mend_exchanged_at(const TypedEnd& end, Difference& both) {
    both.mend_at = end.link.end == End::controller ? MendAt::controller : MendAt::device;
    both.mend = end.name + ": address " + in_both_bases(end.peer_address()) + ", peer_address " +
                in_both_bases(end.own_address());
}

void mend_taken_addresses(const Scenario& s, CrossCheck& result) {
    const proto::LinkSettings& c = s.controller.link;
    const proto::LinkSettings& d = s.device.link;
    const std::string of_controller = "address of " + s.controller.name, of_device = "address of " + s.device.name;
    Difference* const first = difference_in(result, of_controller);
    Difference* const second = difference_in(result, of_device);
    if (s.neighbour && !s.meant.controller_address) {
        const auto of_neighbour = [&](const TypedEnd& end) {
            const std::uint32_t own = end.link.own_address;
            return own == s.neighbour->controller_address || own == s.neighbour->device_address;
        };
        if (of_neighbour(s.controller))
            mend_taken(first, s.controller, s.device, s.neighbour->name, MendAt::controller);
        if (of_neighbour(s.device)) mend_taken(second, s.device, s.controller, s.neighbour->name, MendAt::device);
    }
    if (c.own_address != d.own_address) return;
    if (addresses_exchanged(s)) {
        if (first == nullptr) return;
        tell_exchanged(s, *first);
        std::erase_if(result.differences, [&](const Difference& one) { return one.setting == of_device; });
        return;
    }
    // if both differ, either may have the other's; and what the file says was meant is better than what follows
    if ((first != nullptr && second != nullptr) || s.meant.controller_address) return;
    mend_taken(first, s.controller, s.device, s.device.name, MendAt::controller);
    mend_taken(second, s.device, s.controller, s.controller.name, MendAt::device);
}

}  // namespace sim
