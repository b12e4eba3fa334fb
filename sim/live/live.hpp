#pragma once
// The same ends, channel and faults over UDP with real timers: all three parts in one process, or one part alone.
#include <atomic>
#include <cstdint>
#include <functional>
#include <optional>
#include <string>

#include "proto/result.hpp"
#include "sim/drive/join.hpp"

namespace sim {

struct Scenario;

/// "ADDRESS:PORT"; port 0 picks a free one.
struct Address {
    std::string host = "127.0.0.1";
    std::uint16_t port = 0;
    [[nodiscard]] bool loopback() const;
    /// Neither a group's, nor that of all on a network, nor the one that stands for all of this computer's.
    [[nodiscard]] bool of_one_computer() const;
    /// 0.0.0.0 or ::, all addresses of this computer.
    [[nodiscard]] bool every() const;
    [[nodiscard]] std::string written() const;
};
/// Nothing if `text` is no IPv4 or IPv6 address with a port.
std::optional<Address> address_from(const std::string& text);

/// Why a live run could not take place: the computer said no.
struct LiveError {
    std::string message;
};

struct LiveOptions {
    std::uint64_t entropy = 0;                     ///< different at each start: a true random number
    bool real_time = false;                        ///< ask for SCHED_FIFO and locked memory; what came of it is told
    const std::atomic<bool>* stop = nullptr;       ///< ends the run early when it becomes true
    std::function<void(const std::string&)> tell;  ///< one line at a time, for people
};

/// All three parts on loopback, a socket each, in one thread. Takes the scenario's duration and a little more.
proto::Result<PartRecords, LiveError> run_live(const Scenario& scenario, std::uint64_t seed,
                                               const LiveOptions& options);

struct PartOptions {
    Part part = Part::controller;
    Address listen;
    Address peer;         ///< controller and device: the channel; the channel: the controller
    Address second_peer;  ///< the channel: the device
};

/// One part in this process; it waits for its peers, in any order. Its run begins when it first hears of them.
proto::Result<PartRecord, LiveError> run_part(const Scenario& scenario, std::uint64_t seed, const PartOptions& part,
                                              const LiveOptions& options);

/// Every duration of the scenario times `factor`.
Scenario slowed(Scenario scenario, std::int64_t factor);

/// The lateness up to which a run can be judged: a fifth of the shortest watchdog.
Duration lateness_allowed(const Scenario& scenario);

}  // namespace sim
