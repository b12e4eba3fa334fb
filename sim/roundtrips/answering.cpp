#include "sim/roundtrips/answering.hpp"

namespace sim {

std::optional<MeasuringDatagram> Answering::hear(const SocketAddress& from, std::span<const std::uint8_t> bytes,
                                                 proto::Instant now) {
    using Kind = MeasuringDatagram::Kind;
    const std::optional<MeasuringDatagram> came = decode_measuring(bytes);
    // an answer is never answered, or two that answer would never come to an end
    if (!came || (came->kind != Kind::ask && came->kind != Kind::farewell)) {
        ++counts_.strangers;
        return std::nullopt;
    }
    const Asker who{from, came->run};
    if (came->kind == Kind::farewell) {
        if (asker_ == who)
            asker_.reset();
        else
            ++counts_.strangers;
        return std::nullopt;
    }
    if (asker_ && asker_ != who && now - heard_ < asker_is_gone_after) {
        ++counts_.refused;
        return MeasuringDatagram{Kind::busy, came->run, came->number, {}};
    }
    if (asker_ != who) {
        asker_ = who;
        ++counts_.askers;
    }
    heard_ = now;
    ++counts_.answered;
    return MeasuringDatagram{Kind::answer, came->run, came->number, {}};
}

}  // namespace sim
