#pragma once
// What decides how often a link stops for nothing, taken out of a scenario: the times of its ends and the channel.
#include <cstdint>
#include <optional>
#include <vector>

#include "sim/scenario/channel.hpp"
#include "sim/scenario/ends.hpp"

namespace sim {

struct Scenario;

/// How an end judges the age of what it gets.
struct AgeModel {
    enum class By : std::uint8_t {
        lag,    ///< of the own number that comes back: streaming
        echo,   ///< of the own time stamp that comes back
        clock,  ///< by the sender's clock, set from the round trip of the handshake
    };
    By by = By::lag;
    std::uint64_t lag_most = 0;  ///< numbers
    Duration most{}, early{};    ///< by stamps; `early`: so much less than 0 is accepted by a clock
    Duration unit{};             ///< of the stamps
};

/// One end, as far as stops for nothing go.
struct EndModel {
    Duration scan{};
    Duration watchdog{};
    proto::Reaction reaction = proto::Reaction::trip;
    Duration error_interval{};
    unsigned missing_allowed = 0;  ///< streaming
    std::vector<AgeModel> ages = {};
    proto::Answers answers = proto::Answers::each;  ///< polled device
};

/// One way.
struct WayModel {
    ChannelSettings channel;
    double bent = 0.0;  ///< probability that a telegram that arrives is rejected for flipped bits
};

struct LinkModel {
    proto::Exchange exchange = proto::Exchange::polled;
    EndModel controller, device;
    Duration device_phase{};  ///< first scan of the device after the controller's
    WayModel to_device, to_controller;
    std::optional<Duration> declared_delay = {};  ///< no telegram takes longer, each way; somebody stands for that
};

/// Telegrams whose bits flip count as rejected: a CRC that misses one is left out, being far rarer than all else here.
LinkModel model_of(const Scenario& scenario);

/// No telegram of that way ever arrives before an earlier one: the channel keeps the order, or its delays are too even.
bool never_overtaken(const LinkModel& link, Direction way);

/// Whether the receiver of that way may reject a telegram for its age before its watchdog, or its sender's, has run
/// out: false only where that cannot be.
bool may_be_too_old(const LinkModel& link, Direction way);

/// Probability that at least one of `bits` bits flips.
double any_flip(double bit_error_rate, unsigned bits);

}  // namespace sim
