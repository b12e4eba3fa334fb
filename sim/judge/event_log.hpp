#pragma once
// What happened, written down: a part of a link that runs in a process of its own keeps this, and whoever has the logs
// of all parts lets the observer hear them in order afterwards. A bench reads its own log after each step.
#include <cstdint>
#include <span>
#include <variant>
#include <vector>

#include "sim/judge/events.hpp"

namespace sim {

/// Tells telegrams apart by their bytes alone (FNV-1a, 64 bits): what both sides of a network can see.
std::uint64_t identity_of_bytes(std::span<const std::uint8_t> bytes);

/// A fresh process telegram was sent; told again it is not written down.
struct LoggedSending {
    Direction way = Direction::to_device;
    std::uint64_t identity = 0;
    std::uint64_t signals = 0;
    Instant at{};
};
/// A parameter telegram was sent.
struct LoggedParameter {
    Direction way = Direction::to_device;
    std::uint64_t identity = 0;
    std::uint64_t signals = 0;
    Instant at{};
};
/// A telegram was sent once more, process or parameters. Only whoever has a network to count for writes it down.
struct LoggedRepeat {
    Direction way = Direction::to_device;
    std::uint64_t identity = 0;
    Instant at{};
};
/// At an end: a telegram came in.
struct LoggedArrival {
    End end = End::controller;
    std::uint64_t identity = 0;
    Instant at{};
    bool waits = true;  ///< for the next scan; not if the end had no power, or its queue was full
};
/// At the channel: a telegram was offered; numbered from 1 in each log. Its bytes are kept elsewhere.
struct LoggedOffer {
    Direction way = Direction::to_device;
    std::uint64_t identity = 0;
    std::uint64_t number = 0;
    std::uint64_t bytes = 0;  ///< how many
    Instant at{};
};
/// At the channel: a telegram was handed to an end; the tag's instance is the number of what was offered.
struct LoggedDelivery {
    End to = End::controller;
    std::uint64_t identity = 0;
    proto::Token tag;
    std::uint64_t bytes = 0;  ///< how many
    Instant at{};
};

using Event = std::variant<LoggedSending, LoggedParameter, Connected, Concluded, Changed, Acknowledged, InUse, Demanded,
                           MachineTold, Touched, OutputsOff, LoggedOffer, LoggedDelivery, Befell, Contacted, Computed,
                           DriveSlows, LoggedArrival, LoggedRepeat, DemandedElsewhere>;

/// By the clock of the part that wrote it.
inline Instant time_of(const Event& event) {
    return std::visit([](const auto& e) { return e.at; }, event);
}

class EventLog {
  public:
    using hears = std::tuple<Sent, Befell, Concluded, Changed, Connected, Acknowledged, InUse, OutputsOff, Demanded,
                             DemandedElsewhere, MachineTold, Touched, Contacted, Computed, DriveSlows>;
    void hear(const Sent& sent);
    void hear(const Befell& fact) { events.emplace_back(fact); }
    void hear(const Concluded& fact) { events.emplace_back(fact); }
    void hear(const Changed& fact) { events.emplace_back(fact); }
    void hear(const Connected& fact) { events.emplace_back(fact); }
    void hear(const Acknowledged& fact) { events.emplace_back(fact); }
    void hear(const InUse& fact) { events.emplace_back(fact); }
    void hear(const OutputsOff& fact) { events.emplace_back(fact); }
    void hear(const Demanded& fact) { events.emplace_back(fact); }
    void hear(const DemandedElsewhere& fact) { events.emplace_back(fact); }
    void hear(const MachineTold& fact) { events.emplace_back(fact); }
    void hear(const Touched& fact) { events.emplace_back(fact); }
    void hear(const Contacted& fact) { events.emplace_back(fact); }
    void hear(const Computed& fact) { events.emplace_back(fact); }
    void hear(const DriveSlows& fact) { events.emplace_back(fact); }

    std::vector<Event> events;
};

}  // namespace sim
