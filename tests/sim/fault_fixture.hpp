#pragma once
// A channel with faults on a link of our own making, for the tests of fault stages.
#include <doctest/doctest.h>

#include <array>
#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "proto/crc_catalogue.hpp"
#include "proto/telegram.hpp"
#include "sim/channel/channel.hpp"
#include "sim/channel/fault_stages.hpp"

namespace fault_test {

using proto::Duration;
using proto::End;
using proto::Instant;
using proto::milliseconds;
using sim::Direction;
using sim::Fault;
using sim::FaultWay;

constexpr Instant at_ms(std::int64_t ms) { return Instant{} + milliseconds(ms); }

struct Log final : sim::InjectionLog {
    struct Call {
        std::size_t fault;
        Direction direction;
        Instant since, now;
    };
    std::vector<Call> calls;
    void touched(std::size_t fault, Direction direction, Instant since, Instant now) override {
        calls.push_back({fault, direction, since, now});
    }
};

struct Arrival {
    std::vector<std::uint8_t> bytes;
    sim::Passage passage;
};

inline proto::Profile profile_with(const std::string& crc, unsigned copies = 1) {
    proto::Profile profile;
    profile.name = "veneer press";
    profile.address = {proto::Presence::carried, 16};
    profile.sequence = {proto::Presence::carried, 16};
    profile.direction = proto::Presence::carried;
    profile.payload_bytes = 8;
    profile.crc_name = crc;
    profile.crc = proto::find_crc(crc)->spec;
    profile.copies = copies;
    return profile;
}

inline sim::ChannelSettings constant_delay(Duration delay) {
    sim::ChannelSettings settings;
    settings.delay.low = delay;
    return settings;
}

inline Fault on_telegram(FaultWay way, std::uint64_t n) {
    Fault fault;
    fault.way = way;
    fault.on_telegram = n;
    return fault;
}
inline Fault at(FaultWay way, Duration when) {
    Fault fault;
    fault.way = way;
    fault.at = when;
    return fault;
}

/// Both links, two milliseconds each way.
class Bench {
  public:
    explicit Bench(const std::string& crc = "CRC-32/ISCSI", unsigned copies = 1,
                   const sim::ChannelSettings& settings = constant_delay(milliseconds(2)))
        : profile(profile_with(crc, copies)),
          crc_(proto::CrcEngine::make(*profile.crc).value()),
          channel(settings, settings, 77) {
        for (sim::Wire& wire : context.wires) {
            wire.profile = profile;
            wire.layout = proto::layout_of(profile, 8).value();
            wire.places = proto::places_of(profile, 8);
        }
        context.seed = 77;
        context.log = &log;
        context.neighbour = true;
        channel.keep_history();
    }

    void add(const Fault& fault) { channel.add(sim::make_stage(fault, added_++, context)); }

    /// The telegram with this number, as its sender encodes it.
    [[nodiscard]] std::vector<std::uint8_t> bytes_of(std::uint32_t number, Direction direction = Direction::to_device,
                                                     std::uint8_t link = 0) const {
        const std::uint32_t base = link == 0 ? 0x10 : 0x20;
        const bool out = direction == Direction::to_device;
        const proto::Codec codec(profile, &crc_, sender(direction), out ? base : base + 1, out ? base + 1 : base, 8);
        std::array<std::uint8_t, 8> payload{};
        for (std::size_t i = 0; i < payload.size(); ++i)
            payload[i] = static_cast<std::uint8_t>(std::size_t{number} * 7 + i);
        std::array<std::uint8_t, proto::telegram_bytes_max> out_bytes{};
        proto::Header header;
        header.number = number;
        codec.encode(header, payload, out_bytes);
        return {out_bytes.begin(), out_bytes.begin() + codec.layout().total_bytes};
    }
    /// Whether the receiver finds its CRC (and copies) right.
    [[nodiscard]] proto::Codec::Decoded decode(const std::vector<std::uint8_t>& bytes,
                                               Direction direction = Direction::to_device) const {
        const bool out = direction == Direction::to_device;
        const proto::Codec codec(profile, &crc_, sender(direction), out ? 0x10U : 0x11U, out ? 0x11U : 0x10U, 8);
        return codec.decode(bytes, {});
    }

    void offer(std::uint32_t number, std::int64_t ms, Direction direction = Direction::to_device,
               std::uint8_t link = 0) {
        sim::Tag tag;
        tag.instance = number & sim::Tag::instance_max;
        tag.link = link & 1U;
        tag.direction = direction;
        offer_bytes(bytes_of(number, direction, link), tag, ms);
    }
    void offer_parameters(std::int64_t ms, Direction direction = Direction::to_device) {
        sim::Tag tag;
        tag.instance = 900;
        tag.direction = direction;
        tag.parameter = true;
        offer_bytes(std::vector<std::uint8_t>(76, 0x5A), tag, ms);
    }
    void offer_bytes(const std::vector<std::uint8_t>& bytes, const sim::Tag& tag, std::int64_t ms) {
        sim::Telegram& telegram = channel.slot();
        telegram.assign(bytes);
        channel.offer(telegram, tag, at_ms(ms));
    }

    /// Everything on the way, in the order of arrival.
    std::vector<Arrival> drain() {
        std::vector<Arrival> all;
        while (channel.next_due() != proto::never) {
            const sim::Channel::Delivery delivery = channel.take();
            all.push_back({{delivery.telegram->view().begin(), delivery.telegram->view().end()}, delivery.passage});
            channel.release(delivery);
        }
        return all;
    }

    proto::Profile profile;
    sim::StageContext context;
    Log log;

  private:
    proto::CrcEngine crc_;
    std::size_t added_ = 0;

  public:
    sim::Channel channel;
};

inline std::vector<std::uint64_t> instances(const std::vector<Arrival>& arrivals) {
    std::vector<std::uint64_t> all;
    all.reserve(arrivals.size());
    for (const Arrival& arrival : arrivals) all.push_back(arrival.passage.tag.instance);
    return all;
}

/// Numbers (on the wire, from the first byte's highest bit) of the bits in which two telegrams differ.
inline std::vector<unsigned> differing_bits(const std::vector<std::uint8_t>& a, const std::vector<std::uint8_t>& b) {
    std::vector<unsigned> bits;
    for (unsigned i = 0; i < a.size() * 8 && i < b.size() * 8; ++i) {
        if (((a[i / 8] ^ b[i / 8]) >> (7 - i % 8) & 1) != 0) bits.push_back(i);
    }
    return bits;
}

}  // namespace fault_test
