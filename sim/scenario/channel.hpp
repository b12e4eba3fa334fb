#pragma once
// The channel between the two ends.
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "proto/time.hpp"

namespace sim {

using proto::Duration;

/// A distribution of one-way delays.
struct DelayShape {
    enum class Kind : std::uint8_t { constant, uniform, histogram };
    Kind kind = Kind::constant;
    Duration low{};   ///< constant value, or lower end
    Duration high{};  ///< upper end of uniform
    struct Cell {
        Duration low, high;
        std::uint64_t weight = 0;
    };
    std::vector<Cell> cells;  ///< histogram: uniform within a cell
    /// The longest and rarest delays of a formula, above all cells. What has a limit for the delays, such as a bound,
    /// leaves them out: a telegram so late is an error. What draws, or reckons odds, does not.
    std::vector<Cell> tail = {};
    double tail_share = 0.0;    ///< of all delays
    std::string preset = {};    ///< name of the preset it comes from, which is only an illustration; else empty
    std::uint64_t samples = 0;  ///< measured delays that it was made of; 0: not measured
    bool halved = false;        ///< each is half of a measured round trip
    double lost = 0.0;          ///< share of the telegrams that were measured as lost
    /// Of `samples`, out of a capture: how many hold what the device takes until it answers, which its scan adds
    /// anyway.
    std::uint64_t with_device = 0;
    std::uint64_t under_subtracted = 0;  ///< how many round trips were shorter than what was taken off as the device's
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
