#pragma once
// Parts of cross_check(): ends that were taken for each other, by their roles or their addresses.
namespace sim {

struct CrossCheck;
struct Difference;
struct Scenario;
struct TypedEnd;

/// What each end was told to be, where somebody typed that.
void compare_roles(const Scenario& scenario, CrossCheck& result);

/// Own and other address are the same at both ends: each of them has the one's for its own.
bool addresses_exchanged(const Scenario& scenario);

/// That end has the two the wrong way round, and is to type them the other way.
void mend_exchanged_at(const TypedEnd& end, Difference& both);

/// To be called once the addresses were compared: where an end has the other one's address for its own, the mend is
/// there, and two addresses that were exchanged are one mistake.
void mend_taken_addresses(const Scenario& scenario, CrossCheck& result);

}  // namespace sim
