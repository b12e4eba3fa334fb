#pragma once
// Where an end listens that is bound to the address typed there.
#include "sim/live/live.hpp"

namespace sim {

struct TypedEnd;

/// Its typed address with any free port, or loopback where none is typed or nobody asked for it.
Address own_address(const TypedEnd& end, const LiveOptions& options);
/// A refusal of that address by the computer, with where it was typed.
LiveError refused_address(const TypedEnd& end, const LiveOptions& options, const LiveError& error);

}  // namespace sim
