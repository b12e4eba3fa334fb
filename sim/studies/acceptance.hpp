#pragma once
// The acts of an acceptance test on the real machine, reckoned and rehearsed one by one: a guard demanded, a cable
// pulled, an end's power cycled. What is allowed comes from the settings; what a rehearsal takes is for information.
#include <array>
#include <cstdint>
#include <optional>
#include <set>
#include <string>

#include "proto/endpoint.hpp"
#include "sim/scenario/ends.hpp"

namespace sim {

struct Scenario;

struct AcceptanceAct {
    enum class Kind : std::uint8_t {
        demand,         ///< on `safeguard`, the link whole
        demand_in_cut,  ///< on `safeguard`, the link cut at that very moment
        cut,            ///< the cable pulled, both ways
        power_off,      ///< of `end`, for a second
    };
    Kind kind = Kind::cut;
    std::string safeguard = {};
    End end = End::device;
    enum class Speed : std::uint8_t { full, reduced } speed = Speed::full;
};

/// Limits by the settings, from the act on. What cannot be told is nothing.
struct ActLimits {
    std::optional<Duration> machine_at_most;  ///< until the machine is harmless; without a machine until the output is
    std::optional<Duration> link_at_least;    ///< of a cut: not before that the output's end can have noticed it
    std::array<std::optional<Duration>, 2> end_at_most{};  ///< of a cut or power cycle, by End: substitute values
    std::string reckoned;                                  ///< in words with numbers
};
/// Requires a scenario as the reader gives it.
ActLimits limits_of_act(const Scenario& scenario, const AcceptanceAct& act);

/// What rehearsals of an act showed, with the machine at speed and the act at many places of the exchange.
struct ActSeen {
    unsigned tried = 0;
    unsigned ran = 0;      ///< of them, found both ends running and the machine in motion when the act came
    unsigned stopped = 0;  ///< of them, ended with the machine still (without a machine: with the output off)
    std::optional<Duration> shortest, longest;     ///< from the act until then, of those that stopped
    std::array<std::set<proto::Cause>, 2> causes;  ///< by End: why it left the running state; empty if it did not
};
/// Deterministic by the scenario and the seed. A reduced speed that the machine does not have is not tried.
ActSeen rehearse_act(const Scenario& scenario, const AcceptanceAct& act, std::uint64_t seed);

/// After a cut that is over: when nobody acknowledges, when the button has been held down since before the request, and
/// when it is pressed after the request.
struct AcknowledgementSeen {
    bool stays_without = false, stays_when_held = false;  ///< the link does not resume
    bool resumes_when_asked = false;
    bool machine_stays = false;  ///< still, with the link running again, until it is started
};
AcknowledgementSeen rehearse_acknowledgement(const Scenario& scenario, std::uint64_t seed);

}  // namespace sim
