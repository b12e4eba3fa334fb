#include "sim/judge/event_log.hpp"

namespace sim {

std::uint64_t identity_of_bytes(std::span<const std::uint8_t> bytes) {
    std::uint64_t hash = 0xCBF29CE484222325ULL;
    for (const std::uint8_t byte : bytes) hash = (hash ^ byte) * 0x100000001B3ULL;
    return hash;
}

void EventLog::hear(const Sent& sent) {
    using Kind = proto::Transmission::Kind;
    if (sent.kind == Kind::fresh)
        events.emplace_back(LoggedSending{sent.way, identity_of_bytes(sent.bytes), sent.signals, sent.at});
    else if (sent.kind == Kind::parameter)
        events.emplace_back(LoggedParameter{sent.way, identity_of_bytes(sent.bytes), sent.signals, sent.at});
}

}  // namespace sim
