#pragma once
// What a correct pair of endpoints makes of a communication error, as rows of a table: tests/sim/detection_*_test.cpp
// hold the rows, each error's in the file of its kind.
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "sim/judge/result.hpp"
#include "tests/support/scenarios.hpp"

namespace tests::detection {

/// The exchanges that a row is about.
enum class In : std::uint8_t { both, polled, streaming };

/// What is done about a rejected telegram.
enum class Reaction : std::uint8_t { trip, discard, discard_for_ever };

/// The end that must detect the error; the last two go by the way that the fault acts on.
enum class At : std::uint8_t { any, controller, device, receiver, sender };

/// When the error must have been detected, counted from the injection.
enum class Within : std::uint8_t {
    any,        ///< nothing is detected, or no time is stated
    a_scan,     ///< the way of the telegram and one scan of its receiver
    two_scans,  ///< the same there and back
    next,       ///< by the telegram after it: one cycle more
    watchdog,   ///< watchdog time, the way and one scan
};

struct Row {
    std::string name;
    In in = In::both;
    bool each_way = false;  ///< once on the way to the device, once on the way to the controller
    std::vector<Carries> carries;
    Reaction reaction = Reaction::trip;
    sim::Fault fault;
    void (*change)(sim::Scenario&) = nullptr;  ///< further settings
    sim::Outcome outcome = sim::Outcome::safe_state;
    std::vector<std::optional<proto::Measure>> by{std::nullopt};  ///< any of these
    std::optional<proto::Measure> owing_to = {};
    At at = At::any;
    Within within = Within::a_scan;
};

/// Rehearses each row at each way of carrying the fields over several phases, and checks all that it says.
void check(const std::vector<Row>& rows);

// ---- Words of the rows

inline const std::vector<Carries> plain{Carries::everything};
inline const std::vector<Carries> two_copies{Carries::two_copies};
inline const std::vector<Carries> addresses_carried{Carries::everything, Carries::two_copies};
inline const std::vector<Carries> addresses_implied{Carries::implied_addresses};
inline const std::vector<Carries> number_implied{Carries::implied_number};
inline const std::vector<Carries> number_carried{Carries::everything, Carries::implied_addresses, Carries::two_copies};
inline const std::vector<Carries> one_copy{Carries::everything, Carries::implied_addresses, Carries::implied_number};
inline const std::vector<Carries> all{Carries::everything, Carries::implied_addresses, Carries::implied_number,
                                      Carries::two_copies};

sim::Fault random_bits(unsigned count);
sim::Fault one_bit_in(sim::TelegramField field);
sim::Fault burst(unsigned length, sim::TelegramField field);
sim::Fault truncated(unsigned bytes);
sim::Fault repeated(sim::FaultWay way, unsigned back);
sim::Fault held(std::int64_t ms);
sim::Fault late(sim::FaultWay way, std::int64_t ms);
/// Everything is lost for 300 ms.
sim::Fault cable();

void three_missing(sim::Scenario& scenario);       ///< a stream permits three missing telegrams
void patient_controller(sim::Scenario& scenario);  ///< the device's watchdog ends first
void patient_device(sim::Scenario& scenario);      ///< the controller's does

}  // namespace tests::detection
