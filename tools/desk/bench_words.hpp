#pragma once
// Words and identifiers of the bench, as the page uses them.
#include <string>
#include <string_view>

#include "proto/endpoint.hpp"
#include "sim/desk/shown.hpp"
#include "sim/desk/telegrams.hpp"

namespace sim {
struct CrossCheck;
struct Scenario;
}  // namespace sim

namespace tools {

/// As people read the time of a bench, to the millisecond that has begun by then: "3.215 s".
std::string bench_time(proto::Instant at);
/// "starting", "running", "stopped", "waits".
std::string_view id_of(proto::State state);
/// Why an end is as it is: "no good telegram in time", "rejected: CRC".
std::string cause_in_words(const sim::DeskEnd& end);
/// What an end shows that does not start, with both values where the check of the ends knows them; empty: it starts.
std::string refusal_in_words(const sim::DeskEnd& end, proto::End which, const sim::Scenario& link,
                             const sim::CrossCheck& check);
/// "runs", "slows down", "power off (category 0)".
std::string_view words_for(sim::DriveCommand command);
std::string_view words_for(sim::StopCategory stop);
std::string_view id_of(sim::DeskFate fate);
std::string_view id_of(sim::DeskEvent::Mark mark);

}  // namespace tools
