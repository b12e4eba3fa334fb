#include "sim/judge/judge_log.hpp"

namespace sim {

std::uint64_t identity_of_bytes(std::span<const std::uint8_t> bytes) {
    std::uint64_t hash = 0xCBF29CE484222325ULL;
    for (const std::uint8_t byte : bytes) hash = (hash ^ byte) * 0x100000001B3ULL;
    return hash;
}

std::uint64_t packed(const proto::Verdict& verdict) {
    return std::uint64_t{verdict.number} << 32 | std::uint64_t{verdict.failed.packed()} << 8 |
           static_cast<std::uint64_t>(verdict.kind) << 1 | std::uint64_t{verdict.sender_safe};
}

proto::Verdict verdict_from(std::uint64_t packed) {
    proto::Verdict verdict;
    verdict.number = static_cast<std::uint32_t>(packed >> 32);
    verdict.failed = proto::MeasureSet::from_packed(static_cast<std::uint16_t>(packed >> 8));
    verdict.kind = static_cast<proto::Verdict::Kind>(packed >> 1 & 0x7F);
    verdict.sender_safe = (packed & 1) != 0;
    return verdict;
}

std::uint64_t packed(const proto::Transition& transition) {
    const std::uint64_t measure = transition.measure ? 1 + static_cast<std::uint64_t>(*transition.measure) : 0;
    return static_cast<std::uint64_t>(transition.from) | static_cast<std::uint64_t>(transition.to) << 8 |
           static_cast<std::uint64_t>(transition.cause) << 16 | measure << 24;
}

proto::Transition transition_from(std::uint64_t packed) {
    proto::Transition transition{static_cast<proto::State>(packed & 0xFF),
                                 static_cast<proto::State>(packed >> 8 & 0xFF),
                                 static_cast<proto::Cause>(packed >> 16 & 0xFF), std::nullopt};
    const std::uint64_t measure = packed >> 24 & 0xFF;
    if (measure != 0) transition.measure = static_cast<proto::Measure>(measure - 1);
    return transition;
}

}  // namespace sim
