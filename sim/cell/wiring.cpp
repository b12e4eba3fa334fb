#include "sim/cell/wiring.hpp"

#include "proto/contract.hpp"
#include "proto/endpoint.hpp"

namespace sim {
namespace {

Wire wire_of(const proto::LinkSettings& sender, proto::ProfileUse use) {
    const auto layout = proto::layout_of(sender.profile, sender.payload_sent, use);
    proto::require(layout.ok(), "a wire of an impossible profile");
    return {sender.profile, layout.value(), proto::places_of(sender.profile, sender.payload_sent)};
}

}  // namespace

StageContext stage_context(const Scenario& scenario) {
    StageContext context;
    context.wires = {wire_of(scenario.controller.link, scenario.use), wire_of(scenario.device.link, scenario.use)};
    context.other_traffic_crc = scenario.other_traffic_crc;
    return context;
}

std::optional<proto::CrcEngine> crc_tables(const Scenario& scenario, const std::optional<proto::CrcEngine>& known) {
    return proto::Endpoint::tables_for(scenario.controller.link, known);
}

}  // namespace sim
