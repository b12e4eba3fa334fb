#pragma once
// What a live run leaves besides: its round trips and how late its timers were.
#include <string>

#include "sim/judge/result.hpp"
#include "tools/store/evidence.hpp"

namespace tools {

/// Round trips as a table that a scenario's channel can read: the time on the line alone, since the ends of a scenario
/// scan by themselves.
EvidenceFile delay_file(const std::string& name, const sim::RunResult& result);
EvidenceFile lateness_file(const sim::Lateness& lateness);

}  // namespace tools
