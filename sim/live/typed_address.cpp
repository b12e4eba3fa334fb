#include "sim/live/typed_address.hpp"

#include "sim/scenario/network.hpp"

namespace sim {
namespace {

const NetworkTyped* asked_of(const TypedEnd& end, const LiveOptions& options) {
    const NetworkTyped* typed = options.typed_addresses ? network_of(end) : nullptr;
    return typed != nullptr && typed->ip ? typed : nullptr;
}

}  // namespace

Address own_address(const TypedEnd& end, const LiveOptions& options) {
    const NetworkTyped* typed = asked_of(end, options);
    return typed != nullptr ? Address{written(*typed->ip), 0} : Address{};
}

LiveError refused_address(const TypedEnd& end, const LiveOptions& options, const LiveError& error) {
    if (asked_of(end, options) == nullptr) return error;
    return {error.message + ", typed as network.ip of " + end.name + ", or take --typed-addresses away"};
}

}  // namespace sim
