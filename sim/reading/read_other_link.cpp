// The second link that some faults need.
#include "sim/reading/parts.hpp"
#include "sim/scenario/scenario.hpp"

namespace sim {

void read_other_link(Section& section, Fault& fault) {
    if (const auto other = section.text("other_link")) fault.other_link = *other;
    fault.of_other_link = section.node().elsewhere;
}

void check_other_link(Section& section, const Scenario& scenario, const Fault& fault) {
    const bool crosses = fault.way == FaultWay::swap || fault.way == FaultWay::misdeliver;
    if (fault.way != FaultWay::neighbour && !crosses) return;
    const Node* const other = section.node().find("other_link");
    if (other != nullptr && !other->elsewhere)
        return section.say("other_link",
                           "means nothing in a file with one link; take it away, and write a table [neighbour]");
    if (other == nullptr && !scenario.neighbour && !section.in_doubt({"neighbour", "link"}))
        return section.say(
            "way", "needs a neighbour link; write a table [neighbour] with controller_address and device_address");
    if (other == nullptr || !crosses) return;
    // each link counts its own telegrams and has ends of its own: what begins and ends alike in both is a time
    if (fault.on_telegram)
        section.say("on_telegram", "is another instant in each of the two links; write at = \"2 s\"");
    for (const char* key : {"while", "while_machine", "from_position", "to_position", "until"})
        if (section.node().find(key) != nullptr)
            section.say(key, "is another thing in each of the two links; take it away, and write at and lasting");
}

}  // namespace sim
