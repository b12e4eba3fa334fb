#pragma once
// Bounds that follow from the settings: how old a value in use may become, and how late a demand may arrive, with one
// episode of any delay and loss in the link. From the sampling of the signal at one end to the output at the other;
// sensor and drive are added by whoever needs them. Times are those of the scheme's own clocks, without tolerance.
#include <optional>

#include "sim/scenario/channel.hpp"
#include "sim/scenario/ends.hpp"

namespace sim {

struct Scenario;

struct Consumer {
    Duration watchdog{};     ///< of the end that uses the value: the other end's does not count
    Duration scan{};         ///< of the same end
    Duration payload_age{};  ///< age of what the sender puts into a telegram: 0 or one of its application cycles
};

/// Polled: 2 * watchdog + scan + payload_age. The worst case is a telegram that arrives late, just inside the
/// watchdog, and then nothing (IEC 62541-15, 8.2 has the same form).
Duration polled_bound(const Consumer& consumer);

/// Polled, from a safeguard at the device over the controller to an output at the same device: the bound at the device
/// and the time that its inputs take, if the controller receives, computes and sends in one cycle.
Duration polled_over_controller_bound(const Consumer& device, Duration input_pipeline);

struct StreamingPath {
    Duration longest_delay{};   ///< one way, as declared: nothing in the link measures it
    Duration shortest_delay{};  ///< one way
    Duration sender_scan{};
    Consumer receiver;
};

/// Streaming, telegrams only lost: longest_delay + 2 * scan + watchdog.
Duration streaming_loss_bound(const StreamingPath& path);

/// Streaming, telegrams late by one and the same step while the ordinary delay is shortest..longest_delay, and then
/// lost: 2 * longest_delay - shortest_delay + 3 * scan + 2 * watchdog - sender_scan.
///
/// The watchdog limits the step by the first late telegram alone. Let the last ordinary one be sampled at 0: it is
/// accepted by longest_delay + scan. The first late one is sampled at sender_scan and must be accepted within a
/// watchdog of that, so the step is at most longest_delay + scan + watchdog - sender_scan - shortest_delay. A later
/// telegram of the same step may need the longest delay and, after it, up to a scan until it is looked at; then it is
/// held for a watchdog and a scan. With one late telegram only, the wait for that scan is inside the watchdog, and
/// longest_delay + 2 * scan + 2 * watchdog - sender_scan is enough. Delays that grow from telegram to telegram have no
/// bound at all.
Duration streaming_bound(const StreamingPath& path);

/// Streaming with a measured age, by time stamp or by the lag of the fed-back number: nothing older than `longest_age`
/// is accepted, and what was accepted is held for a watchdog and a scan at most: longest_age + watchdog + 2 * scan.
Duration supervised_age_bound(Duration longest_age, const Consumer& receiver);

struct CablePulled {
    Duration at_least{};  ///< watchdog - longest exchange, not below 0
    Duration at_most{};   ///< longest_delay + 2 * scan + watchdog
};
/// From the pulling of a cable to the substitute values at the end that no longer hears anything.
CablePulled cable_pulled_bounds(const Consumer& receiver, Duration longest_delay, Duration longest_exchange);

/// The longest round trip with which a polled link still runs: watchdog - cycle.
Duration longest_round_trip(Duration watchdog, Duration cycle);

/// For how long a safeguard read at that end must hold a demand so that it cannot vanish in the link: the end's
/// watchdog and a scan. Within its watchdog the end makes a telegram with new values, or it stops. In a stream the
/// receiver also runs on when `missing_allowed` telegrams in a row are lost, so the demand must be in one more of them:
/// at least missing_allowed + 1 cycles and a scan. A longer gap stops the receiver, whatever its watchdog is.
Duration least_hold(const Scenario& scenario, End producer);

/// No delay of this shape is longer, or shorter.
Duration longest_of(const DelayShape& shape);
Duration shortest_of(const DelayShape& shape);

/// The bound of a scenario for values on one way, by the settings of the end that receives them; nothing in a
/// streaming link in which nobody measures the age, unless the scenario declares its largest delay.
std::optional<Duration> bound_of(const Scenario& scenario, Direction direction);

/// The same for a demand at the receiving end itself, which goes to the other end and back: in a polled link the answer
/// supervises both ways at once; in a streaming link both bounds and one cycle of the controller add up.
std::optional<Duration> over_other_end_bound_of(const Scenario& scenario, Direction back);

}  // namespace sim
