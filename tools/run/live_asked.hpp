#pragma once
// What was typed with --live, of one link or of a cell, and what is refused of it.
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "sim/live/live.hpp"
#include "sim/scenario/scenario.hpp"
#include "tools/program/command.hpp"

namespace tools {

/// Records of so many telegrams are joined in some 5 GB of memory.
inline constexpr std::int64_t telegrams_joined_most = 10'000'000;

/// Options of run that belong to --live.
std::vector<OptionSpec> live_options();
/// An address with a port that may be used here.
proto::Result<sim::Address, Failure> live_address(const Request& request, const std::string& option,
                                                  const std::string& text);
/// The same of an end: with --typed-addresses the port alone, and the address is the one typed at that end.
proto::Result<sim::Address, Failure> live_address_of_end(const Request& request, const std::string& option,
                                                         const std::string& text, const sim::TypedEnd& end);
proto::Result<std::int64_t, Failure> times_slower(const Request& request);
/// Why a scenario may not be slowed so much; nothing if it may.
std::optional<Failure> too_slow(const sim::Scenario& scenario, std::int64_t factor);
/// With what tells a person on the console; nothing stops it yet.
sim::LiveOptions live_options_of(const Request& request);

/// What of a link exists in virtual time only; nothing if there is nothing.
std::optional<Failure> cannot_be_live(const sim::Scenario& scenario);
/// What a live run sees is kept whole until it is joined: that is too much if the link may send more telegrams.
std::optional<Failure> cannot_be_joined(const sim::Scenario& scenario, std::int64_t telegrams_most);

}  // namespace tools
