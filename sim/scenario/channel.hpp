#pragma once
// The channel between the two ends.
#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "proto/time.hpp"
#include "sim/scenario/ends.hpp"

namespace sim {

using proto::Duration;

/// What a way has of round trips that were measured as a whole. A round trip that is late is late by one event on one
/// way (common practice), so one way has half of the shortest round trip, always, and the other all the rest of each:
/// drawn once, it holds for the exchange's way out and back together, and the sum is what was measured.
struct OfRoundTrips {
    enum class Part : std::uint8_t { all_that_varies, half_of_shortest };
    Part part = Part::all_that_varies;
    Duration shortest{};  ///< round trip
    /// Which way has all that varies; streaming links, which have no round trips, give it to both.
    Direction late = Direction::to_device;
    std::string source = {};  ///< two ways with the same one are those of the same exchanges
    /// Whether somebody said on which way they are late; else nobody knows, and odds hold for either.
    enum class Late : std::uint8_t { unknown, stated } stated = Late::unknown;
};

/// A piece of a distribution: evenly from `low` to `high`, both included.
struct DelayCell {
    Duration low, high;
    std::uint64_t weight = 0;
};

/// The longest of measured delays as a generalised Pareto law, in place of what was seen above `threshold`, and how far
/// that goes; made by sim/channel/fitted_tail.hpp. Intervals are of 95 %.
struct FittedTail {
    std::vector<std::string> refused = {};  ///< why it is not used, a clause each; empty: it is
    std::uint64_t values = 0, excesses = 0;
    Duration threshold{};  ///< the excesses are longer
    double shape = 0.0, shape_low = 0.0, shape_high = 0.0;
    double scale_ns = 0.0, scale_low_ns = 0.0, scale_high_ns = 0.0;
    /// Distances of the excesses from the law, and the chance of more if it is right.
    double anderson_darling = 0.0, anderson_darling_p = 0.0;
    double cramer_von_mises = 0.0, cramer_von_mises_p = 0.0;
    Duration longest{};  ///< that was seen
    Duration reach{};    ///< nothing is claimed of what is longer

    struct Law {
        std::vector<DelayCell> cells = {};  ///< over the threshold up to the reach, one of them ends at `longest`
        double share = 0.0;                 ///< of all delays: in these cells
        double beyond =
            0.0;  ///< of all delays: past the reach, nobody knows how far; to be taken for late without limit
    };
    /// As fitted, and with the share above each delay at its lower and its upper limit; empty if refused.
    Law central = {}, low = {}, high = {};
};

/// A distribution of one-way delays.
struct DelayShape {
    enum class Kind : std::uint8_t { constant, uniform, histogram };
    Kind kind = Kind::constant;
    Duration low{};   ///< constant value, or lower end
    Duration high{};  ///< upper end of uniform
    using Cell = DelayCell;
    std::vector<Cell> cells = {};  ///< histogram: uniform within a cell
    /// The longest and rarest delays of a formula, or of a fit to measured ones, above all cells. What has a limit for
    /// the delays, such as a bound, leaves them out: a telegram so late is an error. What draws, or reckons odds, does
    /// not.
    std::vector<Cell> tail = {};
    double tail_share = 0.0;    ///< of all delays
    std::string preset = {};    ///< name of the preset it comes from, which is only an illustration; else empty
    std::uint64_t samples = 0;  ///< measured delays that it was made of; 0: not measured, or constant
    std::optional<OfRoundTrips> of_round_trips = {};
    double lost = 0.0;  ///< share of the telegrams that were measured as lost
    /// So many in a row were lost, which independent losses would hardly do; 0: no more than they would.
    std::uint64_t lost_together = 0;
    /// Of `samples`, out of a capture: how many hold what the device takes until it answers, which its scan adds
    /// anyway.
    std::uint64_t with_device = 0;
    std::uint64_t under_subtracted = 0;  ///< how many round trips were shorter than what was taken off as the device's
    /// The measured delays in the order of their measuring, one a telegram.
    std::shared_ptr<const std::vector<Duration>> series = {};
    /// So many telegrams in a row have delays that were measured in a row, from a place drawn evenly and past the end
    /// on from the beginning (circular blocks: Politis and Romano, in Exploring the Limits of Bootstrap, 1992). 0: each
    /// is drawn alone.
    std::uint64_t block = 0;
    std::optional<FittedTail> fitted = {};  ///< where it was asked for; if not refused, `tail` is its central law

    [[nodiscard]] bool was_measured() const { return samples != 0 || of_round_trips.has_value(); }
};

/// Loss in bursts: a chain with a good and a bad state, moved on once for each telegram (Gilbert, Bell System Technical
/// Journal 39, 1960; Elliott, the same 42, 1963). Probabilities.
struct BurstLoss {
    double good_to_bad = 0.0;
    double bad_to_good = 0.0;
    double in_good = 0.0;  ///< of losing a telegram in the good state
    double in_bad = 1.0;
};

/// Other traffic in front of the telegrams: one server, first come first served. See sim/channel/background_queue.hpp.
struct BackgroundTraffic {
    enum class Kind : std::uint8_t { constant, bursts };
    Kind kind = Kind::bursts;
    Duration service{};    ///< for one packet, the own telegrams too; a slot of the model
    double load = 0.0;     ///< share of the server's time that the other traffic asks for; above 1 the queue grows
    unsigned burst = 1;    ///< packets that come together
    Duration room{};       ///< work that the queue holds; what does not fit is lost
    double ramp_to = 0.0;  ///< load after the ramp; equal to `load` without one
    Duration ramp_from{};  ///< run time at which the ramp begins
    Duration ramp_lasting{};
};

/// One direction of the channel.
struct ChannelSettings {
    DelayShape delay;
    double loss = 0.0;                            ///< probability per telegram
    std::optional<BurstLoss> bursts = {};         ///< in place of `loss`
    std::optional<BackgroundTraffic> queue = {};  ///< before the delay
    double bit_error_rate = 0.0;                  ///< probability per bit
    bool keep_order = true;                       ///< R-80; false: telegrams with shorter delays overtake
};

}  // namespace sim
