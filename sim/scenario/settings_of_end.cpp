#include "sim/scenario/settings_of_end.hpp"

#include <utility>

#include "sim/scenario/network.hpp"
#include "sim/scenario/scenario.hpp"
#include "sim/scenario/units.hpp"

namespace sim {

std::vector<SettingOfEnd> settings_of_end(const Scenario& scenario, End end) {
    const TypedEnd& typed = scenario.end(end);
    const proto::LinkSettings& link = typed.link;
    const bool controller = end == End::controller, polled = link.exchange == proto::Exchange::polled;
    const unsigned to_device = controller ? link.payload_sent : link.payload_received;
    const unsigned to_controller = controller ? link.payload_received : link.payload_sent;
    std::vector<SettingOfEnd> all{
        {"address", in_both_bases(typed.own_address())},
        {"peer_address", in_both_bases(typed.peer_address())},
        {"profile", typed.profile_file},
        {"exchange", polled ? "polled" : "streaming"},
        {"cycle", written(link.cycle)},
        {"controller_watchdog", written(controller ? link.watchdog : link.peer_watchdog)},
        {"device_watchdog", written(controller ? link.peer_watchdog : link.watchdog)},
        {"payload_to_device", std::to_string(to_device)},
        {"payload_to_controller", std::to_string(to_controller)},
        {"byte_order", link.byte_order == proto::ByteOrder::high_first ? "high-first" : "low-first"},
        {"claimed_sil", std::to_string(link.claimed_level)},
        {"reaction", link.reaction == proto::Reaction::trip ? "trip" : "discard"}};
    if (link.reaction == proto::Reaction::discard) all.push_back({"error_interval", written(link.error_interval)});
    if (!polled) all.push_back({"missing_allowed", std::to_string(link.missing_allowed)});
    if (link.max_lag) all.push_back({"max_lag", std::to_string(*link.max_lag)});
    if (link.max_age > Duration{}) all.push_back({"max_age", written(link.max_age)});
    if (link.max_early > Duration{}) all.push_back({"max_early", written(link.max_early)});
    if (typed.around)
        for (const AroundSetting& setting : around_settings())
            if (std::string value = setting.value(*typed.around); !value.empty())
                all.push_back({std::string(setting.key), std::move(value)});
    for (const TypedBit& bit : typed.bits)
        all.push_back({"bits." + bit.signal, std::to_string(bit.place.byte) + "." + std::to_string(bit.place.bit)});
    return all;
}

}  // namespace sim
