// What may be put in as a fault at the bench.
#include <array>

#include "sim/desk/usual_fault.hpp"
#include "sim/scenario/errors.hpp"
#include "tools/desk/bench_told.hpp"
#include "tools/desk/typed_plant.hpp"

namespace tools {
namespace {

struct Offer {
    sim::FaultWay way;
    const char* words;
};

// in the order in which IEC 61784-3 lists the errors (from memory), then what fails at an end
constexpr std::array on_the_way{
    Offer{sim::FaultWay::random_bits, "corruption: bits flipped"},
    Offer{sim::FaultWay::burst, "corruption: a burst"},
    Offer{sim::FaultWay::beside, "repetition: an old one beside the new one"},
    Offer{sim::FaultWay::instead, "repetition: an old one in place of the new one"},
    Offer{sim::FaultWay::hold, "incorrect sequence: one held back"},
    Offer{sim::FaultWay::drop, "loss: telegrams dropped"},
    Offer{sim::FaultWay::step, "delay: all later for a while"},
    Offer{sim::FaultWay::creeping, "delay: later and later"},
    Offer{sim::FaultWay::stray, "insertion: from an earlier start"},
    Offer{sim::FaultWay::neighbour, "insertion: from the next link"},
    Offer{sim::FaultWay::no_crc, "masquerade: without a safety CRC"},
    Offer{sim::FaultWay::other_crc, "masquerade: with another CRC"},
    Offer{sim::FaultWay::swap, "addressing: exchanged with the next link"},
    Offer{sim::FaultWay::loop_back, "addressing: back to its sender"},
};
constexpr std::array at_an_end{
    Offer{sim::FaultWay::restart, "restart: its power is off for a moment"},
    Offer{sim::FaultWay::stall, "stall: its program stands still for a moment"},
    Offer{sim::FaultWay::frozen_data, "frozen data: it takes in no new values"},
    Offer{sim::FaultWay::clock_drift, "clock: it goes fast"},
    Offer{sim::FaultWay::drive_does_not_slow, "drive: it does not slow down"},
};

/// A link of the file could have it.
bool is_possible(const TypedPlant& typed, sim::FaultWay way) {
    for (std::size_t i = 0; i < typed.links(); ++i) {
        const sim::Scenario& link = typed.link(i);
        if (!sim::why_impossible(link, sim::usual_fault(link, way, sim::FaultDirection::to_device))) return true;
    }
    return false;
}

void add(Value::List& offers, const TypedPlant& typed, const Offer& offer, const char* group, const char* at) {
    if (!is_possible(typed, offer.way)) return;
    offers.push_back(
        Value::Object{{"way", sim::name_of(offer.way)}, {"words", offer.words}, {"group", group}, {"at", at}});
}

}  // namespace

Value fault_offers(const TypedPlant& typed) {
    Value::List offers;
    for (const Offer& one : on_the_way) add(offers, typed, one, "on the way", "direction");
    for (const Offer& one : at_an_end) add(offers, typed, one, "at an end", "end");
    return offers;
}

}  // namespace tools
