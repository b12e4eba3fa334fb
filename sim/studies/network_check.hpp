#pragma once
// Parts of cross_check(): what is typed of network, module and firmware at the two ends.
namespace sim {

struct CrossCheck;
struct Scenario;

/// Adds what is compared, what differs, what keeps the ends apart and what nobody compares; nothing where neither end
/// has any of it.
void compare_network(const Scenario& scenario, CrossCheck& result);

/// What a module says of its payload beside the bits and values that are typed at its end.
void compare_module_fields(const Scenario& scenario, CrossCheck& result);

}  // namespace sim
