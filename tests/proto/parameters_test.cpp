// The parameter telegram: round trip, damage, and a code for each setting in which two ends can differ.
#include "proto/parameters.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <array>
#include <functional>
#include <random>
#include <set>
#include <string>

#include "proto/bytes.hpp"
#include "tests/support/bench.hpp"
#include "tests/support/slow_crc.hpp"

namespace {

using proto::LinkParameters;
using proto::LinkSettings;
using proto::ParameterTelegram;
using proto::Refusal;
using Encoded = std::array<std::uint8_t, proto::parameter_telegram_bytes>;

ParameterTelegram example() {
    ParameterTelegram t;
    t.step = ParameterTelegram::Step::answer;
    t.refusal = Refusal::cycle;
    t.controller_number = 0x0123456789ABCDEF;
    t.device_number = 0xFEDCBA9876543210;
    t.start_number = 0x11223344;
    t.stamp = 0x55667788;
    t.parameters = proto::parameters_of(tests::streaming_pair().controller);
    t.parameters.missing_allowed = 3;
    t.parameters.byte_order = proto::ByteOrder::low_first;
    return t;
}

Encoded encoded(const ParameterTelegram& telegram) {
    Encoded bytes{};
    proto::encode(telegram, bytes);
    return bytes;
}

/// Restores both check values after a change of the bytes, so that only the ranges are left to object.
void seal(Encoded& bytes) {
    proto::store_be(bytes.data() + 72, proto::parameter_crc(std::span(bytes).subspan(32, 40)), 4);
    proto::store_be(bytes.data() + 76, proto::parameter_crc(std::span(bytes).first(76)), 4);
}

struct Difference {
    Refusal code;
    std::function<void(LinkSettings&)> at_device;
};

/// Each setting of a device changed alone, from a streaming link with a number of 16 bits.
std::vector<Difference> differences() {
    return {
        {Refusal::profile, [](LinkSettings& s) { s.profile.zero_as_one = false; }},
        {Refusal::controller_address, [](LinkSettings& s) { s.peer_address = 0x333; }},
        {Refusal::device_address, [](LinkSettings& s) { s.own_address = 0x333; }},
        {Refusal::exchange, [](LinkSettings& s) { s.exchange = proto::Exchange::polled; }},
        {Refusal::payload_to_device, [](LinkSettings& s) { s.payload_received = 10; }},
        {Refusal::payload_to_controller, [](LinkSettings& s) { s.payload_sent = 10; }},
        {Refusal::bits_to_device, [](LinkSettings& s) { s.bits_received[7] = 0x80; }},
        {Refusal::bits_to_controller, [](LinkSettings& s) { s.bits_sent[0] = 1; }},
        {Refusal::byte_order, [](LinkSettings& s) { s.byte_order = proto::ByteOrder::low_first; }},
        {Refusal::cycle, [](LinkSettings& s) { s.cycle = proto::milliseconds(20); }},
        {Refusal::watchdog_controller, [](LinkSettings& s) { s.peer_watchdog = proto::milliseconds(51); }},
        {Refusal::watchdog_device, [](LinkSettings& s) { s.watchdog = proto::milliseconds(51); }},
        {Refusal::missing_allowed, [](LinkSettings& s) { s.missing_allowed = 1; }},
        {Refusal::claimed_level, [](LinkSettings& s) { s.claimed_level = 3; }},
    };
}

}  // namespace

TEST_CASE("a parameter telegram is decoded to what was encoded") {
    const ParameterTelegram sent = example();
    const auto got = proto::decode_parameters(encoded(sent));
    REQUIRE(got.has_value());
    CHECK(got->step == sent.step);
    CHECK(got->refusal == sent.refusal);
    CHECK(got->controller_number == sent.controller_number);
    CHECK(got->device_number == sent.device_number);
    CHECK(got->start_number == sent.start_number);
    CHECK(got->stamp == sent.stamp);
    CHECK(got->parameters == sent.parameters);
}

TEST_CASE("R-52 every damaged bit and every cut parameter telegram is rejected") {
    const Encoded good = encoded(example());
    for (unsigned bit = 0; bit < good.size() * 8; ++bit) {
        Encoded bad = good;
        bad[bit / 8] = static_cast<std::uint8_t>(bad[bit / 8] ^ (1U << bit % 8));
        REQUIRE_FALSE(proto::decode_parameters(bad).has_value());
    }
    for (std::size_t length = 0; length < good.size(); ++length)
        REQUIRE_FALSE(proto::decode_parameters(std::span(good).first(length)).has_value());
    tests::Bytes longer(good.begin(), good.end());
    longer.push_back(0);
    CHECK_FALSE(proto::decode_parameters(longer).has_value());
    std::mt19937_64 draws(5);
    for (int i = 0; i < 10'000; ++i) {
        Encoded noise;
        for (auto& byte : noise) byte = static_cast<std::uint8_t>(draws() >> 56);
        REQUIRE_FALSE(proto::decode_parameters(noise).has_value());
    }
}

TEST_CASE("R-52 values out of their range are rejected under a fitting CRC too") {
    const auto decodes_with = [](unsigned at, std::uint8_t value) {
        Encoded bytes = encoded(example());
        bytes[at] = value;
        seal(bytes);
        return proto::decode_parameters(bytes).has_value();
    };
    CHECK(decodes_with(4, 1));  // step
    CHECK(decodes_with(4, 4));
    CHECK_FALSE(decodes_with(4, 0));
    CHECK_FALSE(decodes_with(4, 5));
    CHECK(decodes_with(5, 14));  // refusal
    CHECK_FALSE(decodes_with(5, 15));
    CHECK_FALSE(decodes_with(6, 1));  // reserved
    CHECK_FALSE(decodes_with(7, 1));
    CHECK_FALSE(decodes_with(68, 2));    // exchange
    CHECK_FALSE(decodes_with(69, 2));    // byte order
    CHECK_FALSE(decodes_with(0, 0xD2));  // mark
    // A wrong signature under a right CRC: the block was exchanged on its way through the sender.
    Encoded bytes = encoded(example());
    bytes[75] ^= 1;
    proto::store_be(bytes.data() + 76, proto::parameter_crc(std::span(bytes).first(76)), 4);
    CHECK_FALSE(proto::decode_parameters(bytes).has_value());
}

TEST_CASE("R-52 who has a block encodes the same bytes, and who expects one takes and rejects the same telegrams") {
    const ParameterTelegram sent = example();
    const Encoded good = encoded(sent);
    const proto::ParameterBlock own(sent.parameters);
    LinkParameters differing = sent.parameters;
    ++differing.cycle_us;
    Encoded by_block{};
    ParameterTelegram without = sent;
    without.parameters = {};  // not looked at
    proto::encode(without, own, by_block);
    CHECK(by_block == good);
    for (const proto::ParameterBlock& expected : {own, proto::ParameterBlock(differing)}) {
        const auto got = proto::decode_parameters(good, expected);
        REQUIRE(got.has_value());
        CHECK(got->parameters == sent.parameters);
        CHECK(encoded(*got) == good);
        for (unsigned bit = 0; bit < good.size() * 8; ++bit) {
            Encoded bad = good;
            bad[bit / 8] = static_cast<std::uint8_t>(bad[bit / 8] ^ (1U << bit % 8));
            REQUIRE_FALSE(proto::decode_parameters(bad, expected).has_value());
        }
        for (std::size_t length = 0; length < good.size(); ++length)
            REQUIRE_FALSE(proto::decode_parameters(std::span(good).first(length), expected).has_value());
        Encoded out_of_range = good;
        out_of_range[4] = 5;  // step
        seal(out_of_range);
        CHECK_FALSE(proto::decode_parameters(out_of_range, expected).has_value());
    }
}

TEST_CASE("the CRC behind a block's telegram head is that over all of its bytes, whatever head and parameters") {
    constexpr proto::CrcSpec spec{32, 0xF4ACFB13, 0xFFFFFFFF, false, false, 0xFFFFFFFF};
    std::mt19937_64 random(7);
    for (int i = 0; i < 2000; ++i) {
        LinkParameters parameters;
        parameters.controller_address = static_cast<std::uint32_t>(random());
        parameters.device_address = static_cast<std::uint32_t>(random());
        parameters.profile_identity = static_cast<std::uint32_t>(random());
        parameters.cycle_us = static_cast<std::uint32_t>(random());
        parameters.watchdog_device_us = static_cast<std::uint32_t>(random());
        parameters.missing_allowed = static_cast<std::uint8_t>(random());
        const proto::ParameterBlock block(parameters);
        std::array<std::uint8_t, 76> bytes{};
        for (std::size_t at = 0; at < proto::parameter_head_bytes; ++at)
            bytes[at] = i == 0 ? std::uint8_t{0} : i == 1 ? std::uint8_t{0xFF} : static_cast<std::uint8_t>(random());
        std::copy(block.bytes().begin(), block.bytes().end(), bytes.begin() + proto::parameter_head_bytes);
        const std::uint32_t value = block.crc_behind(std::span(bytes).first<proto::parameter_head_bytes>());
        CHECK(value == proto::parameter_crc(bytes));
        CHECK(value == tests::slow_crc(spec, bytes));
    }
}

TEST_CASE("a process telegram is never taken for a parameter telegram: its mark sets bits that are always 0 there") {
    CHECK((encoded(example())[0] & 0x70) != 0);
}

TEST_CASE("the signature is the same from both ends and sensitive to each setting") {
    const auto pair = tests::streaming_pair();
    const std::uint32_t agreed = proto::signature_of(proto::parameters_of(pair.controller));
    CHECK(proto::signature_of(proto::parameters_of(pair.device)) == agreed);
    std::set<std::uint32_t> signatures{agreed};
    for (const Difference& difference : differences()) {
        LinkSettings settings = pair.device;
        difference.at_device(settings);
        signatures.insert(proto::signature_of(proto::parameters_of(settings)));
    }
    CHECK(signatures.size() == differences().size() + 1);
    // What each end may choose for itself is not under it.
    LinkSettings own = pair.device;
    own.reaction = proto::Reaction::discard;
    own.error_interval = proto::seconds(1);
    own.scan = proto::milliseconds(3);
    own.bits_sent[200] = 1;  // beyond the payload
    CHECK(proto::signature_of(proto::parameters_of(own)) == agreed);
}

TEST_CASE("R-52 each differing setting is named at the device, on the wire and at the controller") {
    REQUIRE(differences().size() + 1 == proto::refusal_count);
    std::set<std::string_view> names;
    for (const Difference& difference : differences()) {
        CAPTURE(std::string(proto::name_of(difference.code)));
        names.insert(proto::name_of(difference.code));
        auto pair = tests::streaming_pair();
        difference.at_device(pair.device);
        CHECK(proto::first_difference(proto::parameters_of(pair.device), proto::parameters_of(pair.controller)) ==
              difference.code);
        tests::Bench bench(pair);
        bench.start_both();
        bench.run_for(proto::milliseconds(300));
        CHECK(bench.at_device.refusals == std::vector{difference.code});
        CHECK(bench.at_controller.refusals == std::vector{difference.code});
        CHECK(bench.controller.refusal() == difference.code);
        CHECK(bench.controller.state() == proto::State::start_up);
        CHECK(bench.device.state() == proto::State::start_up);
        CHECK(bench.device.connections() == 0);
        const tests::Telegram* answer = bench.last_sent(proto::End::device, proto::Transmission::Kind::parameter);
        REQUIRE(answer != nullptr);
        const auto said = proto::decode_parameters(answer->bytes);
        REQUIRE(said.has_value());
        CHECK(said->refusal == difference.code);
    }
    CHECK(names.size() == differences().size());
    CHECK(names.count("?") == 0);
}

TEST_CASE("R-52 a refused offer cannot be confirmed all the same") {
    auto pair = tests::polled_pair();
    pair.device.claimed_level = 3;
    tests::Bench bench(pair);
    bench.start_both();
    bench.run_for(proto::milliseconds(100));
    const auto* answer = bench.last_sent(proto::End::device, proto::Transmission::Kind::parameter);
    REQUIRE(answer != nullptr);
    const ParameterTelegram refused = proto::decode_parameters(answer->bytes).value();
    REQUIRE(refused.refusal == Refusal::claimed_level);
    // A controller that does not listen to the refusal.
    ParameterTelegram confirm = refused;
    confirm.step = ParameterTelegram::Step::confirm;
    confirm.refusal = Refusal::none;
    confirm.parameters = proto::parameters_of(pair.controller);
    const Encoded bytes = encoded(confirm);
    bench.inject(proto::End::device, {bytes.begin(), bytes.end()});
    bench.run_for(proto::milliseconds(20));
    CHECK(bench.device.connections() == 0);
}
