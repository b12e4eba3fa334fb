#include "sim/channel/fault_stages.hpp"

#include "proto/contract.hpp"
#include "sim/channel/triggered_stage.hpp"

namespace sim {

std::unique_ptr<FaultStage> make_stage(const Fault& fault, std::size_t index, const StageContext& context) {
    switch (fault.way) {
        case FaultWay::flip_bits:
        case FaultWay::random_bits:
        case FaultWay::burst:
        case FaultWay::bit_rate:
        case FaultWay::truncate: return make_corruption(fault, index, context);
        case FaultWay::beside:
        case FaultWay::instead:
        case FaultWay::current_again:
        case FaultWay::old_parameters: return make_repetition(fault, index, context);
        case FaultWay::hold: return make_incorrect_sequence(fault, index, context);
        case FaultWay::drop: return make_loss(fault, index, context);
        case FaultWay::step:
        case FaultWay::creeping: return make_delay(fault, index, context);
        case FaultWay::neighbour:
        case FaultWay::stray: return make_insertion(fault, index, context);
        case FaultWay::no_crc:
        case FaultWay::other_crc:
        case FaultWay::all_zero: return make_masquerade(fault, index, context);
        case FaultWay::swap:
        case FaultWay::misdeliver:
        case FaultWay::loop_back: return make_addressing(fault, index, context);
        case FaultWay::restart:
        case FaultWay::stall:
        case FaultWay::frozen_data:
        case FaultWay::clock_drift:
        case FaultWay::drive_does_not_slow: break;  // of an end, not of the way
    }
    proto::contract_broken("a fault of no known way", __FILE__, __LINE__);
}

bool needs_history(const Fault& fault) {
    return fault.way == FaultWay::beside || fault.way == FaultWay::instead || fault.way == FaultWay::old_parameters ||
           (fault.way == FaultWay::neighbour && fault.other_link.empty());
}

}  // namespace sim
