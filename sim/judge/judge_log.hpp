#pragma once
// What the world tells the observer, as plain records: a part of a link that runs in a process of its own writes them
// down, and whoever has the records of all parts lets the observer hear them in order afterwards.
#include <cstdint>
#include <span>
#include <vector>

#include "proto/endpoint.hpp"
#include "sim/channel/channel.hpp"

namespace sim {

/// Tells telegrams apart by their bytes alone (FNV-1a, 64 bits): what both sides of a network can see.
std::uint64_t identity_of_bytes(std::span<const std::uint8_t> bytes);

struct JudgeRecord {
    enum class Kind : std::uint8_t {
        produced,      ///< direction, identity, signals
        parameter,     ///< direction, identity: a parameter telegram was sent
        connected,     ///< direction
        concluded,     ///< end, identity, verdict
        changed,       ///< end, transition
        acknowledged,  ///< counted
        in_use,        ///< end, signals
        demanded,      ///< demand, signals
        machine,       ///< 0: started, else 1 + drive command
        touched,       ///< fault, direction, since
        outputs_off,   ///< end
        offered,       ///< at the channel: direction, identity; numbered from 1 in each log; bytes
        delivered,     ///< at the channel: end, identity, tag whose instance is the number of what was offered; bytes
        befell,        ///< at the channel, what was offered last: direction, tag, fate
    };
    Kind kind = Kind::produced;
    std::uint8_t place = 0;  ///< Direction or End
    Instant at{};            ///< by the clock of the part that wrote it
    std::uint64_t a = 0, b = 0, c = 0;
    friend bool operator==(const JudgeRecord&, const JudgeRecord&) = default;
};

/// Verdicts and transitions as numbers, and back.
std::uint64_t packed(const proto::Verdict& verdict);
proto::Verdict verdict_from(std::uint64_t packed);
std::uint64_t packed(const proto::Transition& transition);
proto::Transition transition_from(std::uint64_t packed);

using JudgeLog = std::vector<JudgeRecord>;

}  // namespace sim
